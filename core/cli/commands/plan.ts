import type { PositionM, ProjectView } from '../../contract/model.ts';
import type { GridPatternName, PlanProposal, PlanRequest } from '../../contract/planning.ts';
import { csvLine } from '../../exchange/csv-out.ts';
import { toFrame } from '../../geo/frame.ts';
import { exportData } from '../../project/export-data.ts';
import { saveReturnTable, saveSheets } from '../../project/field-sheets.ts';
import { writeWhole } from '../../project/files.ts';
import { acceptPlan, proposePlan } from '../../project/plan-probes.ts';
import { computeCurve } from '../../project/spacing-curve.ts';
import { buildView } from '../../project/view.ts';
import { setWalkStart } from '../../project/walk-start.ts';
import type { ProjectStore } from '../../store/open-project.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { choice, numberFlag, positional, text, usage } from '../flags.ts';

const PATTERNS: readonly GridPatternName[] = [
  'square',
  'triangular',
  'offset',
  'adaptive',
  'along-footprint',
];

const PAGES = ['A4', 'Letter'] as const;
/** Options that ask for a new layout. */
const LAYOUT_FLAGS = ['pattern', 'spacing', 'count', 'around', 'turn', 'depth', 'prefix', 'accept', 'out'];
const PAPERS = ['sheets', 'return-csv', 'stake-out'];
/** Unpacking, blanks, backgrounds, for each instrument and day (common practice). */
const DAILY_MINUTES = 60;

export const planCommand: Command = {
  name: 'plan',
  usage:
    'plan PROJECT.gasplat [--spacing M | --count N] [--accept] [--sheets FILE.pdf [--cards]] [--return-csv FILE.csv] [--stake-out FILE.csv] | --curve',
  summary: 'lay out a probe grid that the scheme accepts, in walking order; sheets and tables for the field',
  positionals: { min: 1, max: 1 },
  options: {
    pattern: { type: 'string', value: PATTERNS.join('|'), help: 'offset unless said' },
    spacing: { type: 'string', value: 'M', help: 'metres between probes' },
    count: { type: 'string', value: 'N', help: 'number of probes (15 unless a spacing is given)' },
    around: { type: 'string', value: 'M', help: 'only in the footprint and so many metres around it' },
    turn: { type: 'string', value: 'DEG', help: 'degrees anticlockwise from east; chosen where absent' },
    depth: { type: 'string', value: 'M', help: "the project's reference depth where absent" },
    prefix: { type: 'string', value: 'TEXT', help: 'before the numbers (P)' },
    minutes: { type: 'string', value: 'N', help: 'for one test (20)' },
    instruments: { type: 'string', value: 'N', help: 'working side by side (1)' },
    days: { type: 'string', value: 'N', help: 'to split the work over (1)' },
    accept: { type: 'boolean', help: 'write the probes into the project, in place of planned ones' },
    start: {
      type: 'string',
      value: 'X,Y',
      help: "where the walk starts this once, in the project's own coordinates; else where the project says",
    },
    'keep-start': {
      type: 'string',
      value: 'X,Y|corner',
      help: "keep in the project where walks start; 'corner': the lot's first corner",
    },
    out: {
      type: 'string',
      value: 'FILE',
      help: 'table of this layout: label and coordinates in walking order',
    },
    sheets: { type: 'string', value: 'FILE.pdf', help: 'field sheets of the planned probes: map, day, list' },
    cards: { type: 'boolean', help: 'with --sheets: a card a probe in place of the list' },
    page: { type: 'string', value: PAGES.join('|'), help: 'with --sheets (A4)' },
    'return-csv': {
      type: 'string',
      value: 'FILE.csv',
      help: 'empty table with codes and labels to bring back',
    },
    'stake-out': {
      type: 'string',
      value: 'FILE.csv',
      help: 'planned probes in walking order: own and WGS 84 coordinates, codes',
    },
    all: { type: 'boolean', help: 'sheets and return table of all probes, driven ones too' },
    curve: { type: 'boolean', help: 'what a number of probes buys: map error against hours; writes nothing' },
    range: { type: 'string', value: 'M', help: 'with --curve: guessed range of the variogram (30)' },
    nugget: {
      type: 'string',
      value: 'SHARE',
      help: 'with --curve: guessed share of the nugget, 0 to 1 (0.3)',
    },
    measured: { type: 'boolean', help: "with --curve: the project's own variogram in place of a guess" },
  },
  async run(context) {
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const kept = text(context, 'keep-start');
      if (kept !== undefined)
        setWalkStart(store, kept === 'corner' ? null : coordinates(kept, '--keep-start'));
      if (context.flags['curve'] === true) return await curve(context, store);
      const papers = PAPERS.filter((flag) => text(context, flag) !== undefined);
      const wantsLayout =
        papers.length === 0 || LAYOUT_FLAGS.some((flag) => context.flags[flag] !== undefined);
      if (wantsLayout && papers.length > 0 && context.flags['accept'] !== true) {
        throw usage(
          `--${papers[0]} is of probes that the project holds: add --accept to take this layout in, or leave the layout's options out.`,
        );
      }
      const proposal = wantsLayout ? await layOut(context, store) : null;
      const written = await writePapers(context, store);
      const files = Object.values(written).map((file) => `Written: ${file.path} (${file.bytes} bytes)`);
      return {
        json: { ...proposal, ...(papers.length === 0 ? {} : { written }) },
        text: [...(proposal === null ? [] : [planText(proposal)]), ...files].join('\n'),
      };
    } finally {
      store.close();
    }
  },
};

const waiting = (context: CommandContext) => ({ signal: context.signal, onProgress: context.progress });

async function layOut(context: CommandContext, store: ProjectStore): Promise<PlanProposal> {
  const spacing = numberFlag(context, 'spacing', { above: 0 });
  const count = numberFlag(context, 'count', { integer: true, above: 0 });
  if (spacing !== undefined && count !== undefined) throw usage('Give --spacing or --count, not both.');
  const turn = numberFlag(context, 'turn');
  const view = buildView(store);
  const depthM = numberFlag(context, 'depth', { above: 0 }) ?? view.settings.referenceDepthM;
  const proposal = await proposePlan(
    view,
    context.jobs,
    {
      pattern: choice(context, 'pattern', PATTERNS, 'offset'),
      size: spacing === undefined ? { count: count ?? 15 } : { spacingM: spacing },
      around: around(context),
      ...(turn === undefined ? {} : { turnDeg: turn }),
      ...start(context, view),
      depthM,
      labelPrefix: text(context, 'prefix') ?? 'P',
      ...pace(context),
    },
    waiting(context),
  );
  if (context.flags['accept'] === true) {
    acceptPlan(
      store,
      proposal.probes.map((p) => ({ ...p, added: false })),
      depthM,
      true,
    );
  }
  const out = text(context, 'out');
  if (out !== undefined) writeWhole(out, layoutTable(proposal, view.frame.unitLabel));
  return proposal;
}

function around(context: CommandContext): PlanRequest['around'] {
  const plusM = numberFlag(context, 'around');
  return plusM === undefined ? 'all' : { footprintPlusM: plusM };
}

function pace(context: CommandContext) {
  return {
    minutesPerTest: numberFlag(context, 'minutes', { above: 0 }) ?? 20,
    instruments: numberFlag(context, 'instruments', { integer: true, above: 0 }) ?? 1,
    days: numberFlag(context, 'days', { integer: true, above: 0 }) ?? 1,
  };
}

function start(context: CommandContext, view: ProjectView): { startM?: PositionM } {
  const raw = text(context, 'start');
  return raw === undefined ? {} : { startM: toFrame(view.frame, coordinates(raw, '--start')) };
}

function coordinates(raw: string, flag: string): readonly [x: number, y: number] {
  const parts = raw.split(',');
  const [x, y] = parts.map(Number);
  if (parts.length !== 2 || parts.some((p) => p.trim() === '') || !Number.isFinite(Number(x) + Number(y)))
    throw usage(`${flag} takes two coordinates, X,Y, not "${raw}".`);
  return [Number(x), Number(y)];
}

interface WrittenFile {
  readonly path: string;
  readonly bytes: number;
}

async function writePapers(
  context: CommandContext,
  store: ProjectStore,
): Promise<Record<string, WrittenFile>> {
  const written: Record<string, WrittenFile> = {};
  const sheets = text(context, 'sheets');
  const returned = text(context, 'return-csv');
  const stakes = text(context, 'stake-out');
  const probes = context.flags['all'] === true ? 'all' : 'planned';
  const from = start(context, buildView(store));
  if (sheets !== undefined) {
    const form = context.flags['cards'] === true ? 'cards' : 'list';
    const page = choice(context, 'page', PAGES, 'A4');
    const options = { form, page, probes, ...from, rounds: pace(context) } as const;
    written['sheets'] = await saveSheets(
      store,
      context.jobs,
      sheets,
      options,
      waiting(context),
      context.version,
    );
  }
  if (returned !== undefined) {
    const options = { probes, ...from } as const;
    written['returnCsv'] = await saveReturnTable(store, context.jobs, returned, options, waiting(context));
  }
  if (stakes !== undefined) {
    const content = await exportData(
      store,
      context.jobs,
      'csv',
      { rows: 'stake-out', ...from },
      waiting(context),
    );
    written['stakeOut'] = { path: stakes, bytes: writeWhole(stakes, content) };
  }
  return written;
}

async function curve(context: CommandContext, store: ProjectStore): Promise<CommandOutput> {
  const pattern = choice(context, 'pattern', PATTERNS, 'offset');
  if (pattern === 'along-footprint') throw usage('--curve is for grids, not for rows along the footprint.');
  const guess = {
    kind: 'spherical',
    rangeM: numberFlag(context, 'range', { above: 0 }) ?? 30,
    nuggetShare: numberFlag(context, 'nugget') ?? 0.3,
  } as const;
  if (guess.nuggetShare < 0 || guess.nuggetShare > 1)
    throw usage(`--nugget takes a share from 0 to 1, not ${guess.nuggetShare}.`);
  const found = await computeCurve(
    store,
    context.jobs,
    {
      pattern,
      around: around(context),
      model: context.flags['measured'] === true ? 'measured' : guess,
      ...start(context, buildView(store)),
      ...pace(context),
      dailyMinutes: DAILY_MINUTES,
    },
    waiting(context),
  );
  const rows = found.points.map((p, i) => {
    const mark = i === found.elbow ? '  < elbow' : '';
    return `  ${String(p.probes).padStart(6)} ${p.spacingM.toFixed(2).padStart(9)} ${(100 * p.errorShare).toFixed(1).padStart(9)} ${p.hoursOfWork.toFixed(1).padStart(7)} ${p.longestDayHours.toFixed(1).padStart(8)}${mark}`;
  });
  return {
    json: found,
    text: [
      found.modelWords,
      '  probes spacing m   error %   hours  longest',
      ...rows,
      'Error: of the map, in per cent of the scatter of the ground.',
      found.elbowRule,
      ...found.cautions,
    ].join('\n'),
  };
}

function layoutTable(proposal: PlanProposal, unit: string): string {
  const head = csvLine(['Order', 'Probe', `Easting (${unit})`, `Northing (${unit})`]);
  const lines = proposal.probes.map((p, i) =>
    csvLine([String(i + 1), p.label, p.native[0].toFixed(3), p.native[1].toFixed(3)]),
  );
  return [head, ...lines].join('');
}

function planText(plan: PlanProposal): string {
  const { walk } = plan;
  const bound = (100 * (walk.lengthM / walk.lowerBoundM - 1)).toFixed(1);
  return [
    `${plan.probes.length} probes, ${plan.pattern}, ${plan.spacingM.toFixed(2)} m apart, turned ${plan.turnDeg.toFixed(0)} degrees`,
    `Largest distance from the ground to a probe: ${plan.worstGapM.toFixed(2)} m`,
    `Walk: ${walk.lengthM.toFixed(0)} m and back (at most ${bound} % over the shortest), ${walk.totalHours.toFixed(1)} h of work, longest day ${walk.longestDayHours.toFixed(1)} h`,
    ...plan.findings.map((f) => `  ${f.outcome}: ${f.message}${f.unconfirmed ? ' (unconfirmed)' : ''}`),
    ...plan.probes.map((p) => `  ${p.label.padEnd(6)} ${p.native[0].toFixed(2)} ${p.native[1].toFixed(2)}`),
    ...plan.notes,
    ...plan.cautions,
  ].join('\n');
}
