import type { MergeChoice, MergeConflictView, MergeDifferenceView, MergePreview } from '../contract/merge.ts';
import { AppError } from '../errors.ts';
import { commitMerge } from '../project/merge-commit.ts';
import { previewMerge } from '../project/merge-plan.ts';
import { withOtherProject } from '../project/open-other.ts';
import { ensureReductions } from '../project/readings.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CommandContext, CommandOutput } from './command.ts';
import { choice, list, text, usage } from './flags.ts';

/**
 * Brings a colleague's project in. Conflicts are listed and nothing is written unless --prefer says whose version holds.
 * Settings, building, placements and control points stay mine unless --take names them.
 * @throws AppError BAD_INPUT naming every conflict
 */
export async function importProject(
  context: CommandContext,
  store: ProjectStore,
  path: string,
): Promise<CommandOutput> {
  const prefer = text(context, 'prefer') === undefined ? null : choice(context, 'prefer', TAKES, 'mine');
  const taken = wantedGroups(context);
  const outcome = withOtherProject(store, path, (other) => {
    const preview = previewMerge(store, other, path);
    if (context.flags['dry-run'] === true) return { preview, report: null };
    if (preview.conflicts.length > 0 && prefer === null)
      throw new AppError('BAD_INPUT', conflictText(preview), { conflicts: preview.conflicts });
    const choices = Object.fromEntries([
      ...preview.conflicts.map((c) => [c.key, choiceFor(c, prefer ?? 'mine')] as const),
      ...preview.differences.map((d) => [d.key, { take: isTaken(d, taken) ? 'theirs' : 'mine' }] as const),
    ]);
    return { preview, report: commitMerge(store, other, path, preview.recordHash, choices) };
  });
  const { preview, report } = outcome;
  if (report === null) return { json: preview, text: previewText(preview) };
  await ensureReductions(store, context.jobs, { signal: context.signal, onProgress: context.progress });
  const lines = preview.conflicts.flatMap((c) => lineOfEach(c, choiceFor(c, prefer ?? 'mine').take));
  return {
    json: {
      ...report,
      conflicts: preview.conflicts,
      differences: preview.differences,
      notes: preview.notes,
    },
    text: [
      report.summary,
      ...lines,
      ...preview.differences.flatMap((d) => lineOfEach(d, isTaken(d, taken) ? 'theirs' : 'mine')),
      ...preview.notes.map((n) => `  ${n}`),
    ].join('\n'),
  };
}

const TAKES = ['mine', 'theirs', 'both'] as const;

/** A day cannot stand twice: there mine holds. */
function choiceFor(conflict: MergeConflictView, prefer: MergeChoice['take']): MergeChoice {
  return { take: prefer === 'both' && !conflict.allowsBoth ? 'mine' : prefer };
}

/** What --take names, and the keys it stands for. */
const GROUPS = {
  settings: 'settings:',
  building: 'footprint',
  placements: 'placement:',
  control: 'control',
} as const;
export const DIFFERENCE_GROUPS = Object.keys(GROUPS) as (keyof typeof GROUPS)[];

function wantedGroups(context: CommandContext): ReadonlySet<keyof typeof GROUPS> {
  const wanted = list(context, 'take').flatMap((entry) => entry.split(','));
  return new Set(
    wanted.map((name) => {
      const group = DIFFERENCE_GROUPS.find((one) => one === name.trim());
      if (group === undefined) throw usage(`--take takes ${DIFFERENCE_GROUPS.join(', ')}, not "${name}".`);
      return group;
    }),
  );
}

function isTaken(difference: MergeDifferenceView, groups: ReadonlySet<keyof typeof GROUPS>): boolean {
  return [...groups].some((group) => difference.key.startsWith(GROUPS[group]));
}

function lineOfEach(
  { what, fields }: Pick<MergeDifferenceView, 'what' | 'fields'>,
  take: string | null,
): string[] {
  const end = take === null ? '' : ` -> ${take}`;
  return fields.map((f) => `  ${what}: ${f.name}: mine ${f.mine}, theirs ${f.theirs}${end}`);
}

function conflictText(preview: MergePreview): string {
  const count = preview.conflicts.length;
  return [
    `${preview.file} says ${count === 1 ? 'one thing' : `${count} things`} otherwise; nothing was taken in. Say with --prefer mine, theirs or both whose version holds, or choose one by one in the window.`,
    ...preview.conflicts.flatMap((c) => lineOfEach(c, null)),
  ].join('\n');
}

function previewText(preview: MergePreview): string {
  const { added } = preview;
  return [
    `${preview.file} would bring ${added.probes.length} probes, ${added.samples.length} samples, ${added.instruments.length} instruments, ${added.keepOuts.length} keep-outs, ${added.days.length} days and ${added.files.length} files; ${preview.filled.length} records filled, ${preview.same} the same, ${preview.conflicts.length} in conflict`,
    ...preview.filled.map((f) => `  ${f.what}: ${f.fields.join('; ')}`),
    ...preview.conflicts.flatMap((c) => lineOfEach(c, null)),
    ...preview.differences.flatMap((d) => lineOfEach(d, 'mine unless --take names it')),
    ...preview.notes.map((n) => `  ${n}`),
  ].join('\n');
}
