import type { NextProposal } from '../../contract/planning.ts';
import { proposeNext } from '../../project/next-probes.ts';
import { acceptPlan } from '../../project/plan-probes.ts';
import { buildView } from '../../project/view.ts';
import { openProject } from '../../store/open-project.ts';
import { chanceText } from '../../text.ts';
import type { Command } from '../command.ts';
import { choice, numberFlag, positional, usage } from '../flags.ts';

export const nextCommand: Command = {
  name: 'next',
  usage: 'next PROJECT.gasplat --count N [--criterion mean|worst|class] [--under lot|footprint] [--accept]',
  summary: 'where further probes lower the error of the map, or the doubt about the class, most',
  positionals: { min: 1, max: 1 },
  options: {
    count: { type: 'string', value: 'N', help: 'how many; fixed before any is driven' },
    criterion: {
      type: 'string',
      value: 'mean|worst|class',
      help: 'to lower: the mean error (unless said), the worst, or the doubt about the class of the ground',
    },
    under: { type: 'string', value: 'lot|footprint', help: 'ground whose error counts (lot)' },
    accept: { type: 'boolean', help: 'write them into the project as planned, marked as added' },
  },
  async run(context) {
    const count = numberFlag(context, 'count', { integer: true, above: 0 });
    if (count === undefined)
      throw usage('--count is needed: the number is fixed before any probe is driven.');
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const view = buildView(store);
      const proposal = await proposeNext(
        view,
        context.jobs,
        {
          count,
          criterion: choice(context, 'criterion', ['mean', 'worst', 'class'], 'mean'),
          target: choice(context, 'under', ['lot', 'footprint'], 'lot'),
        },
        { signal: context.signal, onProgress: context.progress },
      );
      if (context.flags['accept'] === true) {
        const probes = proposal.added.map(({ label, native }) => ({ label, native, added: true }));
        acceptPlan(store, probes, view.settings.referenceDepthM, false);
      }
      return { json: proposal, text: nextText(proposal) };
    } finally {
      store.close();
    }
  },
};

function nextText(next: NextProposal): string {
  const fall = 100 * (1 - next.errorAfter / next.errorBefore);
  const { classDoubt } = next;
  const what =
    classDoubt === null
      ? `Expected error (${next.criterion}, ${next.unit})`
      : `Expected error of the ground's ${classDoubt.statisticName} (${next.unit})`;
  return [
    ...(classDoubt === null
      ? []
      : [
          classDoubt.before === null || classDoubt.after === null
            ? 'No limit is in force on this lot (its permeability is not known), so the doubt itself cannot be told.'
            : `Chance that the ground is of another class than the likeliest: ${chanceText(classDoubt.before)} now, ${chanceText(classDoubt.after)} expected after`,
        ]),
    `${what}: ${next.errorBefore.toPrecision(3)} now, ${next.errorAfter.toPrecision(3)} with ${next.added.length} more (${fall.toFixed(0)} % less)`,
    ...next.added.map(
      (p) =>
        `  ${p.label.padEnd(6)} ${p.native[0].toFixed(2)} ${p.native[1].toFixed(2)}  gain ${(100 * p.gain).toFixed(1)} % of the variance`,
    ),
    ...next.cautions,
  ].join('\n');
}
