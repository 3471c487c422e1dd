import type { PlacementView, SiteResult } from '../../contract/planning.ts';
import { searchSite } from '../../project/site-building.ts';
import { buildView } from '../../project/view.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command } from '../command.ts';
import { choice, numberFlag, positional } from '../flags.ts';

export const siteCommand: Command = {
  name: 'site',
  usage: 'site PROJECT.gasplat [--setback M] [--objective estimate|probability] [--limit KBQ]',
  summary: 'where on the lot the planned building would stand over less gas',
  positionals: { min: 1, max: 1 },
  options: {
    setback: { type: 'string', value: 'M', help: 'strip along the lot line where no building may stand (0)' },
    objective: {
      type: 'string',
      value: 'estimate|probability',
      help: 'lowest mean, or lowest chance over the limit',
    },
    limit: { type: 'string', value: 'KBQ', help: "kBq/m3; the scheme's highest limit where absent" },
    fixed: { type: 'boolean', help: 'do not turn the building' },
    mirror: { type: 'boolean', help: 'the mirrored building is as good' },
    'per-metre': {
      type: 'string',
      value: 'PRICE',
      help: "price of moving, in the objective's unit for each metre (0)",
    },
    wanted: { type: 'string', value: 'N', help: 'most placements to list (5)' },
    seed: { type: 'string', value: 'N', help: 'of the realisations (1)' },
  },
  async run(context) {
    const limit = numberFlag(context, 'limit', { above: 0 });
    const store = openProject(positional(context, 0, 'The project file'), { readOnly: true });
    try {
      const result = await searchSite(
        buildView(store),
        context.jobs,
        {
          objective:
            choice(context, 'objective', ['estimate', 'probability'], 'estimate') === 'estimate'
              ? 'lowest-estimate'
              : 'lowest-probability',
          ...(limit === undefined ? {} : { limitKBqPerM3: limit }),
          setbackM: numberFlag(context, 'setback') ?? 0,
          mayTurn: context.flags['fixed'] !== true,
          mayMirror: context.flags['mirror'] === true,
          perMetreMoved: numberFlag(context, 'per-metre') ?? 0,
          wanted: numberFlag(context, 'wanted', { integer: true, above: 0 }) ?? 5,
          seed: numberFlag(context, 'seed', { integer: true }) ?? 1,
        },
        { signal: context.signal, onProgress: context.progress },
      );
      return { json: { ...result, suitability: undefined }, text: siteText(result) };
    } finally {
      store.close();
    }
  },
};

function siteText(result: SiteResult): string {
  if (result.nothingFits !== null) return `Nothing fits: ${result.nothingFits}`;
  return [
    ...(result.asDrawn === null
      ? ['As drawn it does not stand on allowed ground.']
      : [placementLine('As drawn', result.asDrawn)]),
    ...result.ranked.map((p, i) => placementLine(`Placement ${i + 1}`, p)),
    ...result.unranked.map((p) => `${placementLine('Not ranked', p)} (${p.why})`),
    ...result.differences.map((d) => `  ${d}`),
    result.choiceRule,
    ...result.cautions,
  ].join('\n');
}

function placementLine(name: string, p: PlacementView): string {
  const { blockMeanKBqPerM3: mean, upperQuartileKBqPerM3: upper, overLimits } = p.statistics;
  const number = (v: number | undefined) => (v === undefined ? '-' : v.toFixed(1));
  const over = overLimits
    .map((l) => `${(100 * l.blockMean).toFixed(0)} % over ${l.limitKBqPerM3}`)
    .join(', ');
  return (
    `${name}: moved ${p.distanceMovedM.toFixed(1)} m, turned ${p.pose.turnDeg.toFixed(0)} degrees; ` +
    `modelled mean ${number(mean?.mean)} (${number(mean?.low)} to ${number(mean?.high)}), ` +
    `third quartile ${number(upper?.mean)} kBq/m3; ${over}; ${p.probesNear} probes in or near it`
  );
}
