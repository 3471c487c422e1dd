/** The log of each day in the field, as crew and office keep it. */
import type { DayEvent, DayLog, DayLogEntry } from '../contract/quality.ts';
import { AppError } from '../errors.ts';
import type { Transaction } from '../store/change.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { FieldDayRow, FieldEventRow, Flag01, NewRow } from '../store/rows.ts';

/** By day, each with its events in order of time. */
export function listDayLogs(store: ReadableStore): DayLog[] {
  const events = store.rows('field_event');
  return store
    .rows('field_day')
    .map((row) =>
      logOf(
        row,
        events.filter((e) => e.field_day_id === row.id),
      ),
    )
    .sort((a, b) => (a.day < b.day ? -1 : 1));
}

function logOf(row: FieldDayRow, events: readonly FieldEventRow[]): DayLog {
  const said = (flag: Flag01 | null) => (flag === null ? null : flag === 1);
  return {
    id: row.id,
    day: row.day,
    crew: row.crew,
    rainMm: row.rain_mm,
    hoursSinceRain: row.hours_since_rain,
    surface: row.surface,
    airTemperatureC: row.air_temperature_c,
    pressureHPa: row.pressure_hpa,
    pumpedMl: row.pumped_ml,
    systemMl: row.system_ml,
    freshTape: said(row.fresh_tape),
    openingBackground: said(row.opening_background),
    closingBackground: said(row.closing_background),
    controlProbeId: row.control_probe_id,
    note: row.note,
    events: events
      .map(({ kind, at_utc, note }) => ({ kind, atUtc: at_utc, note }))
      .sort((a, b) => Date.parse(a.atUtc) - Date.parse(b.atUtc)),
  };
}

/**
 * Enters the log of a day, or changes the one of that id; its events become those given.
 * @throws AppError BAD_INPUT for a day that has a log already; NOT_FOUND for a log or a control probe that is not there
 */
export function setDayLog(
  store: ProjectStore,
  input: { readonly id: string | null; readonly log: DayLogEntry },
): void {
  const { id, log } = input;
  if (id !== null) refuseUnknown(store, id);
  const twin = store.rows('field_day', { day: log.day })[0];
  if (twin !== undefined && twin.id !== id)
    throw new AppError('BAD_INPUT', `The day ${log.day} has a log already: change that one.`, {
      field: 'day',
    });
  if (log.controlProbeId !== null && store.row('probe', log.controlProbeId) === undefined)
    throw new AppError('NOT_FOUND', `There is no probe "${log.controlProbeId}" in this project.`, {
      field: 'controlProbeId',
    });
  store.change('day.set', `Log of ${log.day}`, (tx) => writeDayLog(store, tx, id, log));
}

/** Within a change: the log of that id, or a new one; its events become those given. */
export function writeDayLog(
  store: ReadableStore,
  tx: Transaction,
  id: string | null,
  log: DayLogEntry,
): void {
  const cells = cellsOf(log);
  if (id !== null) tx.update('field_day', id, cells);
  const own = id ?? tx.insert('field_day', cells);
  const wanted = new Map(log.events.map((e) => [eventKey(e), e]));
  for (const old of store.rows('field_event', { field_day_id: own })) {
    const key = eventKey({ kind: old.kind, atUtc: old.at_utc, note: old.note });
    if (!wanted.delete(key)) tx.remove('field_event', old.id);
  }
  for (const { kind, atUtc, note } of wanted.values())
    tx.insert('field_event', { field_day_id: own, kind, at_utc: atUtc, note: textOrNull(note) });
}

/** A day of which nothing is noted yet. */
export function emptyDayLog(day: string): DayLogEntry {
  return {
    day,
    crew: null,
    rainMm: null,
    hoursSinceRain: null,
    surface: null,
    airTemperatureC: null,
    pressureHPa: null,
    pumpedMl: null,
    systemMl: null,
    freshTape: null,
    openingBackground: null,
    closingBackground: null,
    controlProbeId: null,
    note: null,
    events: [],
  };
}

/** @throws AppError NOT_FOUND */
export function removeDayLog(store: ProjectStore, id: string): void {
  const row = refuseUnknown(store, id);
  store.change('day.remove', `Remove the log of ${row.day}`, (tx) => {
    for (const event of store.rows('field_event', { field_day_id: id })) tx.remove('field_event', event.id);
    tx.remove('field_day', id);
  });
}

function refuseUnknown(store: ProjectStore, id: string): FieldDayRow {
  const row = store.row('field_day', id);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no log "${id}" in this project.`);
  return row;
}

/** Tells one look from another. */
export function eventKey({ kind, atUtc, note }: DayEvent): string {
  return JSON.stringify([kind, Date.parse(atUtc), textOrNull(note)]);
}

function textOrNull(text: string | null): string | null {
  return text === null || text.trim() === '' ? null : text.trim();
}

function cellsOf(log: DayLogEntry): NewRow<'field_day'> {
  const flag = (said: boolean | null): Flag01 | null => (said === null ? null : said ? 1 : 0);
  return {
    day: log.day,
    crew: textOrNull(log.crew),
    rain_mm: log.rainMm,
    hours_since_rain: log.hoursSinceRain,
    surface: log.surface,
    air_temperature_c: log.airTemperatureC,
    pressure_hpa: log.pressureHPa,
    pumped_ml: log.pumpedMl,
    system_ml: log.systemMl,
    fresh_tape: flag(log.freshTape),
    opening_background: flag(log.openingBackground),
    closing_background: flag(log.closingBackground),
    control_probe_id: log.controlProbeId,
    note: textOrNull(log.note),
  };
}
