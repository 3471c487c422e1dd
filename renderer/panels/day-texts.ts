/** The log of a day as it is typed, and back. Pure. Times are UTC. */
import type { DayEvent, DayEventKind, DayLogEntry, GroundSurface } from '../../core/contract/quality.ts';
import { celsiusToFahrenheit, fahrenheitToCelsius } from '../../core/units.ts';
import { trimNumber } from '../format.ts';
import { numberReader } from './typed-numbers.ts';

type Said = '' | 'yes' | 'no';

export interface DayTexts {
  readonly day: string;
  readonly crew: string;
  readonly rainMm: string;
  readonly hoursSinceRain: string;
  readonly surface: GroundSurface | '';
  readonly air: string;
  readonly pressureHPa: string;
  readonly pumpedMl: string;
  readonly systemMl: string;
  readonly freshTape: Said;
  readonly openingBackground: Said;
  readonly closingBackground: Said;
  readonly controlProbeId: string;
  readonly note: string;
  /** One a line: time; what; note. */
  readonly events: string;
}

export const EVENT_NAMES: Record<DayEventKind, string> = {
  'dryer-fresh': 'dryer fresh',
  'dryer-spent': 'dryer spent',
  'leak-passed': 'line held',
  'leak-failed': 'line leaked',
};

/** @param fahrenheit whether air is typed in °F */
export function dayTexts(log: DayLogEntry | null, day: string, fahrenheit = false): DayTexts {
  const airC = log?.airTemperatureC ?? null;
  const number = (value: number | null) =>
    value === null ? '' : trimNumber(value, 8).replace('\u2212', '-');
  const said = (value: boolean | null): Said => (value === null ? '' : value ? 'yes' : 'no');
  return {
    day: log?.day ?? day,
    crew: log?.crew ?? '',
    rainMm: number(log?.rainMm ?? null),
    hoursSinceRain: number(log?.hoursSinceRain ?? null),
    surface: log?.surface ?? '',
    air: number(airC === null || !fahrenheit ? airC : celsiusToFahrenheit(airC)),
    pressureHPa: number(log?.pressureHPa ?? null),
    pumpedMl: number(log?.pumpedMl ?? null),
    systemMl: number(log?.systemMl ?? null),
    freshTape: said(log?.freshTape ?? null),
    openingBackground: said(log?.openingBackground ?? null),
    closingBackground: said(log?.closingBackground ?? null),
    controlProbeId: log?.controlProbeId ?? '',
    note: log?.note ?? '',
    events: (log?.events ?? []).map((event) => eventText(event, log?.day ?? day)).join('\n'),
  };
}

/** The time alone where the event is of the day itself; with its day where it lies past midnight UTC. */
function eventText({ kind, atUtc, note }: DayEvent, day: string): string {
  const time = atUtc.startsWith(day) ? atUtc.slice(11, 16) : atUtc.slice(0, 16).replace('T', ' ');
  return [time, EVENT_NAMES[kind], ...(note === null ? [] : [note])].join('; ');
}

function parseEvent(line: string, day: string): DayEvent | null {
  const [timeText = '', what = '', ...rest] = line.split(';').map((cell) => cell.trim());
  const [, date, hour, minute] = /^(?:(\d{4}-\d{2}-\d{2})[ T])?(\d{1,2}):(\d{2})$/.exec(timeText) ?? [];
  const kind = (Object.keys(EVENT_NAMES) as DayEventKind[]).find(
    (key) => EVENT_NAMES[key] === what.toLowerCase(),
  );
  if (hour === undefined || minute === undefined || kind === undefined) return null;
  const ms = Date.parse(`${date ?? day}T${hour.padStart(2, '0')}:${minute}:00Z`);
  const note = rest.join('; ');
  return Number.isNaN(ms)
    ? null
    : { kind, atUtc: new Date(ms).toISOString().replace('.000Z', 'Z'), note: note === '' ? null : note };
}

/** The log that the texts say, or what is wrong with them, in words. */
export function dayLogOf(texts: DayTexts, fahrenheit = false): DayLogEntry | string {
  const { wrong, read } = numberReader();
  if (!/^\d{4}-\d{2}-\d{2}$/.test(texts.day)) wrong.push('Choose the day.');
  const said = (value: Said) => (value === '' ? null : value === 'yes');
  const text = (typed: string) => (typed.trim() === '' ? null : typed.trim());
  const air = fahrenheit
    ? read(texts.air, 'Air temperature', -76, 140)
    : read(texts.air, 'Air temperature', -60, 60);
  const airC = air === null || !fahrenheit ? air : fahrenheitToCelsius(air);
  const log = {
    day: texts.day,
    crew: text(texts.crew),
    rainMm: read(texts.rainMm, 'Rain', 0, 2000),
    hoursSinceRain: read(texts.hoursSinceRain, 'Hours since rain', 0, 10_000),
    surface: texts.surface === '' ? null : texts.surface,
    airTemperatureC: airC,
    pressureHPa: read(texts.pressureHPa, 'Air pressure', 400, 1100),
    pumpedMl: read(texts.pumpedMl, 'Pumped', 0.001, 1e7),
    systemMl: read(texts.systemMl, 'Volume of the line', 0.001, 1e7),
    freshTape: said(texts.freshTape),
    openingBackground: said(texts.openingBackground),
    closingBackground: said(texts.closingBackground),
    controlProbeId: texts.controlProbeId === '' ? null : texts.controlProbeId,
    note: text(texts.note),
  };
  const lines = texts.events
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '');
  const events = lines.map((line) => parseEvent(line, texts.day));
  const bad = events.indexOf(null);
  if (bad >= 0)
    wrong.push(
      `Event ${bad + 1}: write it as “09:40; dryer fresh”; what: ${Object.values(EVENT_NAMES).join(', ')}.`,
    );
  if (wrong.length > 0) return wrong.join(' ');
  return {
    ...log,
    events: events
      .filter((event) => event !== null)
      .sort((a, b) => (a.atUtc < b.atUtc ? -1 : a.atUtc > b.atUtc ? 1 : 0)),
  };
}
