import type { GridPatternName, PlanProposal } from '../../contract/planning.ts';
import { csvLine } from '../../exchange/csv-out.ts';
import { writeWhole } from '../../project/files.ts';
import { acceptPlan, proposePlan } from '../../project/plan-probes.ts';
import { buildView } from '../../project/view.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command } from '../command.ts';
import { choice, numberFlag, positional, text, usage } from '../flags.ts';

const PATTERNS: readonly GridPatternName[] = [
  'square',
  'triangular',
  'offset',
  'adaptive',
  'along-footprint',
];

export const planCommand: Command = {
  name: 'plan',
  usage: 'plan PROJECT.gasplat [--spacing M | --count N] [--accept] [--out FILE.csv]',
  summary: 'lay out a probe grid that the scheme accepts, in walking order',
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
    out: { type: 'string', value: 'FILE', help: 'stake-out table: label and coordinates in walking order' },
  },
  async run(context) {
    const spacing = numberFlag(context, 'spacing', { above: 0 });
    const count = numberFlag(context, 'count', { integer: true, above: 0 });
    if (spacing !== undefined && count !== undefined) throw usage('Give --spacing or --count, not both.');
    const around = numberFlag(context, 'around');
    const turn = numberFlag(context, 'turn');
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const view = buildView(store);
      const depthM = numberFlag(context, 'depth', { above: 0 }) ?? view.settings.referenceDepthM;
      const proposal = await proposePlan(
        view,
        context.jobs,
        {
          pattern: choice(context, 'pattern', PATTERNS, 'offset'),
          size: spacing === undefined ? { count: count ?? 15 } : { spacingM: spacing },
          around: around === undefined ? 'all' : { footprintPlusM: around },
          ...(turn === undefined ? {} : { turnDeg: turn }),
          depthM,
          labelPrefix: text(context, 'prefix') ?? 'P',
          minutesPerTest: numberFlag(context, 'minutes', { above: 0 }) ?? 20,
          instruments: numberFlag(context, 'instruments', { integer: true, above: 0 }) ?? 1,
          days: numberFlag(context, 'days', { integer: true, above: 0 }) ?? 1,
        },
        { signal: context.signal, onProgress: context.progress },
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
      if (out !== undefined) writeWhole(out, stakeOut(proposal, view.frame.unitLabel));
      return { json: proposal, text: planText(proposal) };
    } finally {
      store.close();
    }
  },
};

function stakeOut(proposal: PlanProposal, unit: string): string {
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
