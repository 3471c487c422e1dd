import type { Scheme } from '../../classify/scheme.ts';
import { schemeById } from '../../classify/scheme.ts';
import type { ProjectView } from '../../contract/model.ts';
import type { ClassResult } from '../../contract/results.ts';
import type { FootprintClass } from '../../contract/siting.ts';
import { computeClass } from '../../project/classify-lot.ts';
import { classifyFootprint } from '../../project/footprint-class.ts';
import {
  readSchemeFile,
  SCHEME_FOLDER_VARIABLE,
  schemesOf,
  schemesWithFolder,
  userSchemeFolder,
} from '../../project/schemes.ts';
import { buildView } from '../../project/view.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext } from '../command.ts';
import { positional, text } from '../flags.ts';

export const classifyCommand: Command = {
  name: 'classify',
  usage: 'classify PROJECT.gasplat [--scheme ID|FILE.json] [--schemes FOLDER] [--raised ID] [--footprint]',
  summary: 'class of the lot by a published scheme, with its reason and its doubts',
  positionals: { min: 1, max: 1 },
  options: {
    scheme: {
      type: 'string',
      value: 'ID|FILE.json',
      help: "the project's own where absent; a file is read and not kept (import it with --what scheme)",
    },
    schemes: {
      type: 'string',
      value: 'FOLDER',
      help: `folder of scheme files to choose from (${SCHEME_FOLDER_VARIABLE}, or the usual one, where absent)`,
    },
    footprint: {
      type: 'boolean',
      help: 'of the placed building, from the points in it and its surroundings, where there are enough',
    },
    raised: {
      type: 'string',
      value: 'ID',
      help: 'limit of the scheme to raise for ground as it describes; needs the text at hand',
    },
  },
  async run(context) {
    const store = openProject(positional(context, 0, 'The project file'), { readOnly: true });
    try {
      const view = buildView(store);
      const scheme = chosenScheme(context, view);
      const raisedLimitId = text(context, 'raised');
      const chosen = {
        ...(scheme === null ? {} : { scheme }),
        ...(raisedLimitId === undefined ? {} : { raisedLimitId }),
      };
      if (context.flags['footprint'] === true) {
        const found = classifyFootprint(view, chosen);
        return { json: found, text: footprintText(found) };
      }
      const result = computeClass(view, chosen);
      return { json: result, text: classText(result) };
    } finally {
      store.close();
    }
  },
};

/** Null for the project's own. The project's files come before those of the folder. */
function chosenScheme(context: CommandContext, view: ProjectView): Scheme | null {
  const wanted = text(context, 'scheme');
  if (wanted === undefined) return null;
  if (wanted.toLowerCase().endsWith('.json')) return readSchemeFile(wanted).scheme;
  const inProject = schemesOf(view).find((s) => s.id === wanted);
  return inProject ?? schemeById(wanted, schemesWithFolder(text(context, 'schemes') ?? userSchemeFolder()));
}

/** Whether there is enough for a class, what is missing, and the class where there is one. */
export function footprintText({ label, areaM2, support, result, lotClass }: FootprintClass): string {
  const practice = support.surroundingsUnconfirmed
    ? [`  Unconfirmed: surroundings of ${support.surroundingsM} m are common practice.`]
    : [];
  return [
    `${label} (${areaM2.toFixed(0)} m2)`,
    `  ${support.message}`,
    ...practice,
    ...(result === null ? ['  NO CLASS FOR THIS PLACE'] : [classText(result)]),
    `  The lot as a whole: ${lotClass}`,
  ].join('\n');
}

/** Class first, then what decided it, how sure it is, and what it does not say. */
export function classText(result: ClassResult): string {
  const lines = [`${result.schemeName}`, headline(result)];
  if (result.statisticKBqPerM3 !== null) {
    const n = `${result.validCount} valid values, ${result.minimumCount} needed`;
    lines.push(
      `  ${result.statisticName}: ${result.statisticKBqPerM3.toFixed(1)} kBq/m3 (${result.quantileRule}; ${n})`,
    );
  }
  lines.push(`  Permeability: ${result.permeabilityClass ?? 'unknown'} (${result.permeabilityBasis})`);
  lines.push(`  Decided by: ${result.decidedBy}`);
  for (const doubt of result.doubts) {
    const parts = doubt.probabilities
      .map((p) => `${p.classId} ${(100 * p.probability).toFixed(0)} %`)
      .join(', ');
    lines.push(`  Doubt of ${doubt.kind}: ${parts}`);
  }
  for (const a of result.alternatives) {
    const value = a.statisticKBqPerM3 === null ? '' : ` (${a.statisticKBqPerM3.toFixed(1)} kBq/m3)`;
    lines.push(`  ${a.what}: ${a.className ?? 'no class'}${value}`);
  }
  lines.push(...result.wouldChange.map((w) => `  Would change: ${w}`));
  lines.push(...result.unconfirmed.map((u) => `  Unconfirmed: ${u}`));
  lines.push(`  Source: ${result.source}`, ...result.cautions.map((c) => `  ${c}`));
  return lines.join('\n');
}

function headline(result: ClassResult): string {
  if (result.refusal !== null) return `  NO CLASS: ${result.refusal}`;
  if (result.range !== null) return `  CLASS NOT SETTLED: ${result.range.join(' or ')}`;
  return `  CLASS: ${result.className ?? result.classId ?? 'none'}`;
}
