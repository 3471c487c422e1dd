import type { Scheme } from '../../classify/scheme.ts';
import { schemeById } from '../../classify/scheme.ts';
import type { ProjectView } from '../../contract/model.ts';
import type { ClassResult } from '../../contract/results.ts';
import type { FootprintClass } from '../../contract/siting.ts';
import { AppError } from '../../errors.ts';
import { computeClass } from '../../project/classify-lot.ts';
import { setSettings } from '../../project/edit.ts';
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
import { chanceText } from '../../text.ts';
import type { Command, CommandContext } from '../command.ts';
import { positional, text, usage } from '../flags.ts';

export const classifyCommand: Command = {
  name: 'classify',
  usage:
    'classify PROJECT.gasplat [--scheme ID|FILE.json] [--schemes FOLDER] [--raised ID|none] [--keep] [--footprint]',
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
      value: 'ID|none',
      help: "limit of the scheme to raise for ground as it describes, needs the text at hand; none: the ordinary limits (the project's own choice where absent)",
    },
    keep: {
      type: 'boolean',
      help: 'judge the project so from now on: the scheme and the raised limit are stored in it, with undo; without it they hold for this call only',
    },
  },
  async run(context) {
    const isKept = context.flags['keep'] === true;
    if (isKept && !isAnyChosen(context))
      throw usage('--keep needs --scheme or --raised: what is to be kept?');
    const path = positional(context, 0, 'The project file');
    if (isKept) keep(context, path);
    const store = openProject(path, { readOnly: true });
    try {
      const view = buildView(store);
      const scheme = chosenScheme(context, view);
      const raised = chosenRaised(context);
      const chosen = {
        ...(scheme === null ? {} : { scheme }),
        ...(raised === undefined ? {} : { raisedLimitId: raised }),
      };
      const kept = isAnyChosen(context) ? { keptInProject: isKept } : {};
      if (context.flags['footprint'] === true) {
        const found = classifyFootprint(view, chosen);
        return { json: { ...found, ...kept }, text: [footprintText(found), ...keptLine(context)].join('\n') };
      }
      const result = computeClass(view, chosen);
      return { json: { ...result, ...kept }, text: [classText(result), ...keptLine(context)].join('\n') };
    } finally {
      store.close();
    }
  },
};

const isAnyChosen = ({ flags }: CommandContext) =>
  flags['scheme'] !== undefined || flags['raised'] !== undefined;

/** null: the ordinary limits, whatever the project says; undefined: as the project says. */
function chosenRaised(context: CommandContext): string | null | undefined {
  const wanted = text(context, 'raised');
  return wanted === 'none' ? null : wanted;
}

/** As the window stores it: another scheme takes an earlier raised limit back. @throws AppError BAD_INPUT */
function keep(context: CommandContext, path: string): void {
  const store = openProject(path, { actor: context.actor });
  try {
    const view = buildView(store);
    const { raisedLimitId: earlier, ...rest } = view.settings;
    const schemeId = chosenScheme(context, view)?.id ?? rest.schemeId;
    if (!schemesOf(view).some((s) => s.id === schemeId))
      throw new AppError(
        'BAD_INPUT',
        `Scheme '${schemeId}' is not in the project: import its file first (gasplat import PROJECT.gasplat FILE.json --what scheme).`,
        { field: 'scheme' },
      );
    const raised = chosenRaised(context);
    const stays = schemeId === rest.schemeId ? earlier : undefined;
    const raisedLimitId = raised === undefined ? stays : (raised ?? undefined);
    setSettings(store, { ...rest, schemeId, ...(raisedLimitId === undefined ? {} : { raisedLimitId }) });
  } finally {
    store.close();
  }
}

/** A choice that is not stored would be missed in the next report. */
function keptLine(context: CommandContext): string[] {
  if (!isAnyChosen(context)) return [];
  const given = ['scheme', 'raised'].filter((name) => context.flags[name] !== undefined);
  const what = given.map((name) => `--${name} ${text(context, name)}`).join(' and ');
  return context.flags['keep'] === true
    ? [`  Stored in the project: ${what}.`]
    : [
        `  For this call only: ${what}. Figure and report follow the project; --keep stores the choice in it.`,
      ];
}

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
      `  ${result.statisticName}: ${result.statisticIsAtMost ? 'at most ' : ''}${figures(result.statisticKBqPerM3)} kBq/m3 (${result.quantileRule}; ${n})`,
    );
  }
  lines.push(`  Permeability: ${result.permeabilityClass ?? 'unknown'} (${result.permeabilityBasis})`);
  lines.push(`  Decided by: ${result.decidedBy}`);
  for (const doubt of result.doubts) {
    const parts = doubt.probabilities.map((p) => `${p.classId} ${chanceText(p.probability)}`).join(', ');
    lines.push(`  Doubt of ${doubt.kind}: ${parts} (${doubt.method})`);
  }
  for (const a of result.alternatives) {
    const value = a.statisticKBqPerM3 === null ? '' : ` (${figures(a.statisticKBqPerM3)} kBq/m3)`;
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

/** Enough of them that a value beside a limit does not read as if it stood on it. */
function figures(valueKBqPerM3: number): string {
  return String(Number(valueKBqPerM3.toPrecision(5)));
}
