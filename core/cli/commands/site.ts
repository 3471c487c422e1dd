import type { Pose } from '../../contract/model.ts';
import type { PlacementView, SiteResult } from '../../contract/planning.ts';
import type { FootprintShape, KeptComparison } from '../../contract/siting.ts';
import { compareKept } from '../../project/compare-kept.ts';
import { classifyFootprint } from '../../project/footprint-class.ts';
import { createGroundKeeper } from '../../project/held-ground.ts';
import { keepPlacement } from '../../project/placements.ts';
import { searchSite } from '../../project/site-building.ts';
import { setFootprintShape } from '../../project/siting-handlers.ts';
import { buildView } from '../../project/view.ts';
import { openProject, type ReadableStore } from '../../store/open-project.ts';
import { chanceText } from '../../text.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { choice, numberFlag, positional, text, usage } from '../flags.ts';
import { footprintText } from './classify.ts';

export const siteCommand: Command = {
  name: 'site',
  usage:
    'site PROJECT.gasplat [--outline SHAPE] [--setback M] [--objective estimate|probability] [--limit KBQ] [--keep N]',
  summary: 'where on the lot the planned building would stand over less gas, and the class under it',
  positionals: { min: 1, max: 1 },
  options: {
    outline: {
      type: 'string',
      value: 'SHAPE',
      help: 'first make this the footprint, in the middle of the lot: rectangle:12x9, or L:14x10:6x4 and U:14x10:6x4 with what is cut out',
    },
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
    keep: { type: 'string', value: 'N', help: 'keep ranked placement N in the project and choose it' },
    seed: { type: 'string', value: 'N', help: 'of the realisations (1)' },
  },
  async run(context) {
    const outline = text(context, 'outline');
    const shape = outline === undefined ? null : parseShape(outline);
    const path = positional(context, 0, 'The project file');
    if (shape === null && context.flags['keep'] === undefined) {
      const store = openProject(path, { readOnly: true });
      try {
        return await search(context, store, null);
      } finally {
        store.close();
      }
    }
    const store = openProject(path, { actor: context.actor });
    try {
      if (shape !== null) setFootprintShape(store, 'Planned building', shape, null);
      return await search(context, store, (pose) =>
        keepPlacement(store, { label: null, pose, choose: true }),
      );
    } finally {
      store.close();
    }
  },
};

async function search(
  context: CommandContext,
  store: ReadableStore,
  keepIt: ((pose: Pose) => void) | null,
): Promise<CommandOutput> {
  const limit = numberFlag(context, 'limit', { above: 0 });
  const keep = numberFlag(context, 'keep', { integer: true, above: 0 });
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
  if (keep !== undefined) {
    const found = result.ranked[keep - 1];
    if (found === undefined) throw usage(`--keep ${keep}: ${result.ranked.length} placements were ranked.`);
    keepIt?.(found.pose);
  }
  const kept = await compareIfKept(store, context);
  const footprintClass = classifyFootprint(buildView(store));
  return {
    json: { ...result, suitability: undefined, kept, footprintClass },
    text: [
      siteText(result),
      ...(kept === null ? [] : ['', 'Kept placements:', keptText(kept)]),
      '',
      footprintText(footprintClass),
    ].join('\n'),
  };
}

async function compareIfKept(store: ReadableStore, context: CommandContext): Promise<KeptComparison | null> {
  if ((buildView(store).footprint?.placements.length ?? 0) === 0) return null;
  const keeper = createGroundKeeper(context.jobs);
  const held = await keeper.prepare(store, { signal: context.signal, onProgress: context.progress });
  return compareKept(keeper.facts(store), held, context.jobs, context.signal);
}

/** 'rectangle:12x9', 'L:14x10:6x4' or 'U:14x10:6x4', metres. */
function parseShape(raw: string): FootprintShape {
  const size = String.raw`(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)`;
  const plain = new RegExp(`^rectangle:${size}$`, 'i').exec(raw);
  if (plain !== null) return { kind: 'rectangle', lengthM: Number(plain[1]), widthM: Number(plain[2]) };
  const cut = new RegExp(`^([LU]):${size}:${size}$`, 'i').exec(raw);
  if (cut === null)
    throw usage(`--outline takes rectangle:12x9, L:14x10:6x4 or U:14x10:6x4 in metres, not "${raw}".`);
  return {
    kind: cut[1]?.toUpperCase() === 'L' ? 'L' : 'U',
    lengthM: Number(cut[2]),
    widthM: Number(cut[3]),
    cutLengthM: Number(cut[4]),
    cutWidthM: Number(cut[5]),
  };
}

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

function keptText({ placements, differences }: KeptComparison): string {
  const lines = placements.map((p) => {
    const { blockMeanKBqPerM3: mean, upperQuartileKBqPerM3: upper } = p.statistics;
    return (
      `${p.chosen ? '*' : ' '} ${p.label}: moved ${p.distanceMovedM.toFixed(1)} m; modelled mean ${number(mean?.mean)} ` +
      `(${number(mean?.low)} to ${number(mean?.high)}), third quartile ${number(upper?.mean)} kBq/m3; ` +
      `${p.support.enough ? 'enough points for a class' : `too few points for a class (${p.support.inside + p.support.around} of ${p.support.needed})`}`
    );
  });
  return [...lines, ...differences.map((d) => `  ${d}`)].join('\n');
}

function number(value: number | undefined): string {
  return value === undefined ? '-' : value.toFixed(1);
}

function placementLine(name: string, p: PlacementView): string {
  const { blockMeanKBqPerM3: mean, upperQuartileKBqPerM3: upper, overLimits } = p.statistics;
  const over = overLimits.map((l) => `${chanceText(l.blockMean)} over ${l.limitKBqPerM3}`).join(', ');
  return (
    `${name}: moved ${p.distanceMovedM.toFixed(1)} m, turned ${p.pose.turnDeg.toFixed(0)} degrees${p.pose.mirrored ? ', mirrored' : ''}; ` +
    `modelled mean ${number(mean?.mean)} (${number(mean?.low)} to ${number(mean?.high)}), ` +
    `third quartile ${number(upper?.mean)} kBq/m3; ${over}; ${p.probesNear} probes in or near it`
  );
}
