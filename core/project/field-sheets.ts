import type { ReturnTableOptions, SharedRounds, SheetOptions } from '../contract/field-sheets.ts';
import type { PositionM, Probe, ProjectView } from '../contract/model.ts';
import type { Input, Output } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { writeReturnTable } from '../exchange/return-table.ts';
import { renderSvg } from '../figure/render-svg.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { isWalkedRound, type WalkLine, walkBarriers } from '../plan/walk-ground.ts';
import { composeSheets, renderSheets } from '../sheets/compose-sheets.ts';
import type { FieldSheetInput, SheetRound } from '../sheets/sheet-model.ts';
import { dayReminders, probeChecks, SHEET_CAUTIONS } from '../sheets/sheet-reminders.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { KnownCode } from '../survey/probe-code.ts';
import type { RequestContext } from './engine.ts';
import { writeWhole } from './files.ts';
import { projectRow } from './frame-of.ts';
import { WALKING_M_PER_MINUTE, walkNotes } from './plan-probes.ts';
import { probeCodes } from './probe-codes.ts';
import { recordHash } from './record.ts';
import { schemeOf } from './schemes.ts';
import { buildView } from './view.ts';
import { walkStartOf } from './walk-start.ts';

/** Longer than the shortest walk found by more than this, the order laid out is no walking order (own choice). */
const MOST_DETOUR = 0.25;
/** A longest round in the order laid out may be longer than the best by this (own choice). */
const MOST_LONGER = 0.1;

/** The code of every probe of the project by its id. */
export function codesOf(store: ReadableStore): ReadonlyMap<string, string> {
  return probeCodes(
    projectRow(store).id,
    store.rows('probe').map((p) => p.id),
  );
}

/** Codes with the labels they stand for, to read returned tables by. */
export function knownCodes(store: ReadableStore): KnownCode[] {
  const codes = codesOf(store);
  return store.rows('probe').map(({ id, label }) => ({ code: codes.get(id) ?? '', label }));
}

interface PlannedWalk {
  readonly startM: PositionM;
  readonly probes: readonly Probe[];
  readonly line: WalkLine;
  /** True where the probes are walked in the order they were laid out. */
  readonly asLaidOut: boolean;
}

/**
 * Probes in the order to walk them: as laid out, which is how their numbers run, unless that is far from a short walk, as
 * when they came from a file.
 * @throws AppError BAD_INPUT where there is none; CANCELLED
 */
export async function walkProbes(
  view: ProjectView,
  jobs: JobRunner,
  which: 'planned' | 'all',
  startM: PositionM | undefined,
  context: RequestContext,
): Promise<PlannedWalk> {
  const probes = which === 'all' ? view.probes : view.probes.filter((p) => p.state === 'planned');
  if (probes.length === 0) {
    throw new AppError(
      'BAD_INPUT',
      view.probes.length === 0
        ? 'There is no probe yet: lay probes out and take the plan into the project first.'
        : 'Every probe has been driven; ask for all probes to get sheets of these.',
    );
  }
  const start = walkStartOf(view, startM) ?? probes[0]?.positionM ?? [0, 0];
  const { route, asGiven } = await jobs.run(
    'plan-walk',
    {
      startM: start,
      probes: probes.map((p) => p.positionM),
      barriers: walkBarriers(view.keepOuts),
      pace: { minutesPerTest: 1, walkingMetresPerMinute: WALKING_M_PER_MINUTE, instruments: 1, days: 1 },
    },
    { signal: context.signal, onProgress: context.onProgress },
  );
  // Wherever the car stands: the round through the probes alone.
  if (asGiven.roundM <= (1 + MOST_DETOUR) * route.lengthM)
    return { probes, line: asGiven.line, asLaidOut: true, startM: start };
  return {
    probes: route.order.flatMap((i) => probes[i] ?? []),
    line: route.line,
    asLaidOut: false,
    startM: start,
  };
}

/**
 * The walk parted for instruments and days, each part from the start and back: where it is as laid out, cut as it stands
 * unless that makes the longest part longer by a tenth than need be.
 */
async function partWalk(
  walk: PlannedWalk,
  view: ProjectView,
  jobs: JobRunner,
  rounds: SharedRounds | undefined,
  context: RequestContext,
): Promise<PlannedWalk & { readonly rounds: readonly SheetRound[] }> {
  if (rounds === undefined || rounds.instruments * rounds.days === 1)
    return { ...walk, rounds: [{ name: null, count: walk.probes.length }] };
  const places = walk.probes.map((p) => p.positionM);
  const pace = { ...rounds, walkingMetresPerMinute: WALKING_M_PER_MINUTE };
  const { work, asGiven } = await jobs.run(
    'plan-walk',
    { startM: walk.startM, probes: places, pace, barriers: walkBarriers(view.keepOuts) },
    { signal: context.signal, onProgress: context.onProgress },
  );
  const cut = walk.asLaidOut ? asGiven.cut : null;
  if (cut !== null && cut.longestMinutes <= (1 + MOST_LONGER) * work.longestMinutes)
    return {
      ...walk,
      line: cut.line,
      rounds: cut.sizes.map((count, i) => {
        const day = Math.floor(i / rounds.instruments) + 1;
        return { name: roundName(day, (i % rounds.instruments) + 1), count };
      }),
    };
  return {
    ...walk,
    probes: work.parts.flatMap((part) => part.route.order.flatMap((i) => walk.probes[i] ?? [])),
    line: joinLines(work.parts.map((part) => part.route.line)),
    asLaidOut: false,
    rounds: work.parts.map(({ day, instrument, route }) => ({
      name: roundName(day, instrument),
      count: route.order.length,
    })),
  };
}

const roundName = (day: number, instrument: number) => `day ${day}, instrument ${instrument}`;

const MOST_NAMED = 4;

function walkWords({ keepOuts }: ProjectView): string {
  const names = keepOuts.filter(isWalkedRound).map((k) => k.label);
  const more = names.length > MOST_NAMED ? ` and ${names.length - MOST_NAMED} more` : '';
  const way =
    names.length === 0 ? 'in straight lines' : `round ${names.slice(0, MOST_NAMED).join(', ')}${more}`;
  return `${way}: fences and walls that are not drawn are not seen`;
}

/** Rounds from one start as one line. */
function joinLines(lines: readonly WalkLine[]): WalkLine {
  return {
    points: lines.flatMap(({ points }, i) => (i === 0 ? points : points.slice(1))),
    lengthM: lines.reduce((sum, line) => sum + line.lengthM, 0),
    forcedLegs: lines.reduce((sum, line) => sum + line.forcedLegs, 0),
  };
}

/** @throws AppError BAD_INPUT where there is no probe to visit; CANCELLED */
export async function gatherSheets(
  store: ProjectStore,
  jobs: JobRunner,
  options: SheetOptions,
  context: RequestContext,
  version: string,
  createdUtc: string = new Date().toISOString(),
): Promise<FieldSheetInput> {
  const view = buildView(store);
  const { settings, frame } = view;
  const { jobNumber, address, organisation } = view.sheetTexts;
  const whole = await walkProbes(view, jobs, options.probes ?? 'planned', options.startM, context);
  const walk = await partWalk(whole, view, jobs, options.rounds, context);
  const codes = codesOf(store);
  const symbols = new Map(view.marks.map((m) => [m.probeId, m.symbol]));
  const symbolOf = (probe: Probe) => symbols.get(probe.id) ?? 'planned';
  const walked = new Set(walk.probes.map((p) => p.id));
  return {
    projectName: view.name,
    details: [
      ...(jobNumber === undefined ? [] : [`Job ${jobNumber}`]),
      ...(address === undefined ? [] : [address]),
      ...(organisation === undefined ? [] : [organisation]),
    ],
    isDemo: view.isDemo,
    revision: view.revision,
    recordHash: recordHash(store),
    createdUtc,
    program: `Gasplat ${version}`,
    frame,
    lot: view.lot,
    footprint: view.footprint,
    keepOuts: view.keepOuts,
    probes: walk.probes.map((p) => ({
      label: p.label,
      code: codes.get(p.id) ?? '',
      positionM: p.positionM,
      native: p.native,
      depthM: p.depthM,
      symbol: symbolOf(p),
    })),
    rounds: walk.rounds,
    others: view.probes
      .filter((p) => !walked.has(p.id))
      .map((p) => ({ label: p.label, positionM: p.positionM, native: p.native, symbol: symbolOf(p) })),
    startM: walk.startM,
    walkM: walk.line.lengthM,
    walkLineM: walk.line.points,
    walkWords: walkWords(view),
    walkNotes: walkNotes([walk.line]),
    orderWords: walk.asLaidOut
      ? 'Sheets follow the order in which the probes were laid out.'
      : `Sheets follow ${walk.rounds.length > 1 ? 'short rounds' : 'a short walk'}, not the order of the numbers.`,
    radonUnit: settings.radonUnit,
    checks: probeChecks(settings.thresholds),
    reminders: dayReminders({
      radonUnit: view.settings.radonUnit,
      scheme: schemeOf(view),
      frame,
      probeCount: walk.probes.length,
      controlLabel: walk.probes[0]?.label ?? null,
    }),
    cautions: SHEET_CAUTIONS,
  };
}

/** @returns bytes written. The file appears whole or not at all. */
export async function saveSheets(
  store: ProjectStore,
  jobs: JobRunner,
  path: string,
  options: SheetOptions,
  context: RequestContext,
  version: string,
): Promise<Output<'sheets.save'>> {
  if (!/\.pdf$/i.test(path))
    throw new AppError('BAD_INPUT', `Field sheets are written as .pdf, not "${path}".`, { file: path });
  const input = await gatherSheets(store, jobs, options, context, version);
  const scenes = composeSheets(input, options.form, options.page ?? 'A4');
  const bytes = writeWhole(path, await renderSheets(scenes, input));
  return { path, bytes, pages: scenes.length, probes: input.probes.length };
}

export async function drawSheets(
  store: ProjectStore,
  jobs: JobRunner,
  { options, pageIndex }: Input<'sheets.preview'>,
  context: RequestContext,
  version: string,
): Promise<Output<'sheets.preview'>> {
  const input = await gatherSheets(store, jobs, options, context, version);
  const scenes = composeSheets(input, options.form, options.page ?? 'A4');
  const scene = scenes[Math.min(pageIndex, scenes.length - 1)];
  if (scene === undefined) throw new AppError('INTERNAL', 'Field sheets came out without a page.');
  return { svg: renderSvg(scene, { paper: '#ffffff', embedFonts: true }), pageCount: scenes.length };
}

/** @returns bytes written */
export async function saveReturnTable(
  store: ProjectStore,
  jobs: JobRunner,
  path: string,
  options: ReturnTableOptions,
  context: RequestContext,
): Promise<Output<'sheets.return-table'>> {
  if (!/\.csv$/i.test(path))
    throw new AppError('BAD_INPUT', `A return table is written as .csv, not "${path}".`, { file: path });
  const view = buildView(store);
  const walk = await walkProbes(view, jobs, options.probes ?? 'planned', options.startM, context);
  const codes = codesOf(store);
  const content = writeReturnTable(
    walk.probes.map((p) => ({ label: p.label, code: codes.get(p.id) ?? '' })),
    view.frame,
    view.settings.radonUnit,
  );
  return { path, bytes: writeWhole(path, content), probes: walk.probes.length };
}
