/** The raw data, the files they came from, the record of every change, and the settings. */
import { lengthCell, lengthText, lengthUnit, sayInUnits, unitText } from '../../contract/project-words.ts';
import { formatCoordinate } from '../../figure/frame-grid.ts';
import { THRESHOLDS } from '../../survey/thresholds.ts';
import { fromKBqPerM3 } from '../../units.ts';
import { facts, heading, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { plain, sourceWords, timeText } from '../words.ts';

const TRANSFORM_WORDS = {
  auto: 'values or logarithms as the program chose',
  none: 'values as they are',
  log: 'logarithms of the values',
} as const;

export function dataAppendix({ view, figure }: ReportInput): ReportBlock[] {
  const probes = new Map(view.probes.map((p) => [p.id, p]));
  const unit = view.frame.unitLabel;
  const radon = (valueKBqPerM3: number | null, digits: number) =>
    plain(valueKBqPerM3 === null ? null : fromKBqPerM3(valueKBqPerM3, figure.radonUnit), digits);
  const yes = (said: boolean) => (said ? 'yes' : '');
  const sampled = new Set(view.samples.map((s) => s.probeId));
  const unsampled = view.probes.filter((p) => !sampled.has(p.id));
  const place = (id: string): string[] => {
    const p = probes.get(id);
    return p === undefined
      ? [id, '', '']
      : [p.label, formatCoordinate(p.native[0], 2), formatCoordinate(p.native[1], 2)];
  };
  return [
    { kind: 'page-break', orientation: 'landscape' },
    heading(1, 'Appendix A: data as read'),
    paragraph(
      'Values as the files give them, converted to the units named; u is the standard uncertainty, k = 1.',
      'note',
    ),
    {
      kind: 'table',
      small: true,
      columns: [
        { head: 'Probe', share: 1.1, strong: true },
        { head: `x, ${unit}`, share: 1.5, align: 'end' },
        { head: `y, ${unit}`, share: 1.5, align: 'end' },
        { head: 'Kind', share: 1.1 },
        { head: 'Taken (UTC)', share: 1.7 },
        { head: `Depth, ${lengthUnit(view.frame)}`, share: 0.8, align: 'end' },
        { head: `Radon, ${unitText(figure.radonUnit)}`, share: 1, align: 'end' },
        { head: 'u (k = 1)', share: 0.9, align: 'end' },
        { head: 'Not detected below', share: 1, align: 'end' },
        { head: 'O2, %', share: 0.7, align: 'end' },
        { head: 'CO2, %', share: 0.7, align: 'end' },
        { head: 'Suction, Pa', share: 0.9, align: 'end' },
        { head: 'Fresh air', share: 0.6 },
        { head: 'Water', share: 0.6 },
        { head: 'Remark', share: 2.2 },
        { head: 'File, line', share: 1.8 },
      ],
      rows: [
        ...view.samples.map((s) => [
          ...place(s.probeId),
          s.kind,
          s.takenUtc === null ? '–' : timeText(s.takenUtc).replace(' UTC', ''),
          lengthCell(s.depthM ?? probes.get(s.probeId)?.depthM ?? null, view.frame),
          s.radonAboveKBqPerM3 === undefined
            ? radon(s.radonKBqPerM3, 6)
            : `> ${radon(s.radonAboveKBqPerM3, 4)}`,
          radon(s.radonUKBqPerM3, 4),
          radon(s.radonBelowKBqPerM3, 4),
          plain(s.oxygenPct, 4),
          plain(s.carbonDioxidePct, 4),
          plain(s.suctionPa, 5),
          yes(s.saidFreshAir),
          yes(s.saidWater),
          s.remark ?? '',
          s.source === null ? 'by hand' : `${s.source.file}, ${s.source.row}`,
        ]),
        ...unsampled.map((p) => [
          ...place(p.id),
          'not sampled',
          '–',
          lengthCell(p.depthM, view.frame),
          ...Array.from({ length: 8 }, () => ''),
          p.note ?? '',
          '',
        ]),
      ],
    },
  ];
}

export function recordAppendix({
  record,
  recordIntact,
  files,
  figure,
  view,
  surface,
  issue,
  classResult,
}: ReportInput): ReportBlock[] {
  const { settings } = view;
  return [
    { kind: 'page-break', orientation: 'portrait' },
    heading(1, 'Appendix B: record of changes'),
    paragraph(
      recordIntact
        ? 'The chain of hashes holds from the first entry to the last, and the data are as it says.'
        : 'THE RECORD DOES NOT HOLD: an entry or a row was altered outside the program.',
      recordIntact ? 'normal' : 'warning',
    ),
    {
      kind: 'table',
      small: true,
      columns: [
        { head: 'No.', share: 0.5, align: 'end' },
        { head: 'Time (UTC)', share: 1.8 },
        { head: 'Actor', share: 1.3 },
        { head: 'Command', share: 1.6 },
        { head: 'What', share: 3.4 },
        { head: 'Hash (SHA-256)', share: 3.2 },
      ],
      rows: record.map((e) => [
        String(e.seq),
        e.atUtc.slice(0, 19).replace('T', ' '),
        e.actor,
        e.command,
        e.undone ? `${e.summary} (undone)` : e.summary,
        e.hash,
      ]),
    },
    heading(1, 'Appendix C: files'),
    files.length === 0
      ? paragraph('The project keeps no file.')
      : {
          kind: 'table',
          small: true,
          columns: [
            { head: 'File', share: 3 },
            { head: 'Type', share: 1.2 },
            { head: 'SHA-256', share: 5 },
          ],
          rows: files.map((f) => [f.name, f.mediaType, f.sha256]),
        },
    heading(1, 'Appendix D: settings and versions'),
    facts(
      ['Program', figure.program],
      ['Report made', timeText(figure.createdUtc)],
      ['Revision, record', `${view.revision}, ${figure.recordHash ?? 'no record'}`],
      ['State printed', issue === null ? 'not frozen' : `SHA-256 ${issue.sha256}`],
      [
        'Surface',
        `${settings.surface.method}, model ${settings.surface.model === 'auto' ? 'chosen by the program' : 'entered'}, ${TRANSFORM_WORDS[settings.surface.transform]}, ${surface === null ? 'not computed' : 'computed'}`,
      ],
      ['Reference depth', lengthText(settings.referenceDepthM, view.frame)],
      ['Scheme', `${classResult.schemeName}; ${classResult.edition}`],
      [
        'Limits entered',
        settings.enteredLimitsKBqPerM3.length === 0
          ? 'none'
          : settings.enteredLimitsKBqPerM3.map((l) => sayInUnits(`${l} kBq/m³`, figure)).join(', '),
      ],
    ),
    heading(2, 'Limits of the findings'),
    {
      kind: 'table',
      small: true,
      columns: [
        { head: 'Limit', share: 4 },
        { head: 'In force', share: 1, align: 'end' },
        { head: 'As it comes', share: 1, align: 'end' },
        { head: 'Source', share: 6.5 },
      ],
      rows: THRESHOLDS.map(({ key, label, unit, standard, mark, source }) => [
        label,
        sayInUnits(`${settings.thresholds[key]} ${unit}`.trim(), figure),
        sayInUnits(`${standard} ${unit}`.trim(), figure),
        source.toLowerCase().includes(mark) ? sourceWords(source) : `${sourceWords(source)} (${mark})`,
      ]),
    },
  ];
}
