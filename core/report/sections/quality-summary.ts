/** The summary of quality and the days in the field, as the window and the command line show them. */
import { sayInUnits } from '../../contract/project-words.ts';
import type { DayLog, QualityItem, QualityVerdict } from '../../contract/quality.ts';
import { heading, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { capital, NOT_RECORDED, sourceWords } from '../words.ts';

const VERDICT_WORDS: Record<QualityVerdict, string> = {
  fit: 'fit for use',
  look: 'to look at',
  unfit: 'NOT FIT as it is',
  'not recorded': 'not recorded',
};

function limitText({ limit, mark, source }: QualityItem): string {
  const unconfirmed = mark === 'confirmed' ? '' : ` Unconfirmed: ${mark}.`;
  return `${capital(limit)}.${unconfirmed} ${sourceWords(source)}.`;
}

/** Every subject with what is there, its limit and where that comes from. */
export function qualityTable({ quality, figure }: ReportInput): ReportBlock[] {
  const inBoth = (text: string) => sayInUnits(text, figure);
  return [
    paragraph(quality.words),
    {
      kind: 'table',
      small: true,
      columns: [
        { head: 'Subject', share: 1.3, strong: true },
        { head: 'Verdict', share: 0.9 },
        { head: 'What is there, and what it means', share: 3.2 },
        { head: 'Limit and its source', share: 2.8 },
      ],
      rows: quality.items.map((i) => [
        i.what,
        VERDICT_WORDS[i.verdict],
        inBoth(`${capital(i.value)}. ${i.words}`),
        inBoth(limitText(i)),
      ]),
    },
  ];
}

/** Purge and leak checks in one line. */
export function drawingText({ quality }: ReportInput): string {
  const value = (id: string) => quality.items.find((i) => i.id === id)?.value ?? NOT_RECORDED;
  return `purge: ${value('purge')}; leak checks: ${value('leak-checks')}; flow: ${value('flow')}`;
}

export function weatherText({ days }: ReportInput): string {
  return days.length === 0 ? NOT_RECORDED : days.map(weatherOf).join('; ');
}

function weatherOf(log: DayLog): string {
  const rain =
    log.rainMm === null
      ? `rain ${NOT_RECORDED}`
      : log.rainMm === 0
        ? 'no rain'
        : `${log.rainMm} mm of rain${log.hoursSinceRain === null ? `, when ${NOT_RECORDED}` : `, ${log.hoursSinceRain} h before`}`;
  const parts = [
    rain,
    log.surface === null ? `surface ${NOT_RECORDED}` : `surface ${log.surface}`,
    ...(log.airTemperatureC === null ? [] : [`air ${log.airTemperatureC} °C`]),
    log.pressureHPa === null ? `pressure ${NOT_RECORDED}` : `${log.pressureHPa} hPa`,
  ];
  return `${log.day}: ${parts.join(', ')}`;
}

const EVENT_WORDS = {
  'dryer-fresh': 'dryer seen fresh',
  'dryer-spent': 'dryer found spent',
  'leak-passed': 'line of the rig held',
  'leak-failed': 'line of the rig leaked',
} as const;

/** Logs of the days; nothing where there is none. */
export function dayLogs({ days, view }: ReportInput): ReportBlock[] {
  if (days.length === 0) return [];
  const labels = new Map(view.probes.map((p) => [p.id, p.label]));
  return [
    heading(2, 'Days in the field'),
    {
      kind: 'table',
      columns: [
        { head: 'Day', share: 1, strong: true },
        { head: 'Crew', share: 1.4 },
        { head: 'Control probe', share: 0.9 },
        { head: 'Dryer and line (UTC)', share: 3 },
        { head: 'Note', share: 2 },
      ],
      rows: days.map((log) => [
        log.day,
        log.crew ?? NOT_RECORDED,
        log.controlProbeId === null ? 'none' : (labels.get(log.controlProbeId) ?? log.controlProbeId),
        log.events.length === 0
          ? NOT_RECORDED
          : log.events
              .map(
                (e) =>
                  `${e.atUtc.slice(11, 16)} ${EVENT_WORDS[e.kind]}${e.note === null ? '' : ` (${e.note})`}`,
              )
              .join('; '),
        log.note ?? '',
      ]),
    },
  ];
}
