/** What a table says of probes that the project holds already, and that were driven before it came. */
import type { RowIssue } from '../contract/requests.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { ProbeRow, RowPatch } from '../store/rows.ts';
import type { ProbeDraft } from '../survey/import-samples.ts';

export interface KnownProbeFills {
  /** By the probe's id: cells that were empty in the project. */
  readonly patches: ReadonlyMap<string, RowPatch<'probe'>>;
  /** Cells that both filled and not alike: the project's are kept, and it is said. */
  readonly issues: readonly RowIssue[];
}

const FIELDS = [
  { column: 'soil', field: 'soil', words: 'soil' },
  { column: 'fine_fraction_pct', field: 'fineFractionPct', words: 'a share of fines of' },
  { column: 'permeability_m2', field: 'permeabilityM2', words: 'a permeability of' },
  { column: 'permeability_class', field: 'permeabilityClass', words: 'the permeability class' },
  { column: 'note', field: 'note', words: 'the note' },
] as const;

export function fillKnownProbes(
  store: ReadableStore,
  drafts: readonly ProbeDraft[],
  file: string,
): KnownProbeFills {
  const byLabel = new Map(store.rows('probe').map((p) => [p.label.toLowerCase(), p]));
  const patches = new Map<string, RowPatch<'probe'>>();
  const issues: RowIssue[] = [];
  for (const draft of drafts) {
    const mine = byLabel.get(draft.label.toLowerCase());
    if (mine === undefined || !draft.known || draft.meetsPlan !== null) continue;
    const patch: Partial<Record<(typeof FIELDS)[number]['column'], string | number>> = {};
    for (const { column, field, words } of FIELDS) {
      const theirs = draft[field];
      if (theirs === null || theirs === mine[column]) continue;
      if (mine[column] === null) patch[column] = theirs;
      else issues.push(keptIssue(mine, draft, file, `${words} '${theirs}'`, String(mine[column]), column));
    }
    if (Object.keys(patch).length > 0) patches.set(mine.id, patch as RowPatch<'probe'>);
  }
  return { patches, issues };
}

function keptIssue(
  mine: ProbeRow,
  draft: ProbeDraft,
  file: string,
  said: string,
  kept: string,
  field: string,
): RowIssue {
  const row = draft.rows[0] ?? null;
  return {
    severity: 'warning',
    file,
    row,
    field,
    message: `row ${row} of ${file} gives probe '${mine.label}' ${said}; the project holds '${kept}', which is kept`,
  };
}
