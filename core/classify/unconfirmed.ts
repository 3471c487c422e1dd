import type { Rules } from './evaluate.ts';
import type { Judgement } from './judge.ts';
import { listThresholds } from './scheme.ts';

const MARK_WORDS = {
  memory: 'from memory',
  'memory-unsure': 'from memory, unsure',
  practice: 'common practice',
} as const;

/** Null where the source was seen. */
export function markWords(mark: string): string | null {
  return mark in MARK_WORDS ? MARK_WORDS[mark as keyof typeof MARK_WORDS] : null;
}

/** What this outcome rests on without a source that was seen: only the rules that had a part in it. */
export function listUnconfirmed(rules: Rules, found: Judgement): string[] {
  const { scheme, raised } = rules;
  const lines: string[] = [];
  for (const { field, limit } of listThresholds(scheme)) {
    const words = markWords(limit.mark);
    const isReplaced =
      field.startsWith('table.limits') && 'classId' in limit && limit.classId === raised?.classId;
    const isChosen =
      raised !== null && field.startsWith('raised.') && 'id' in limit && limit.id === raised.id;
    if (words === null || isReplaced || !(isChosen || hasPart(field, found))) continue;
    const unit = limit.unit === '' ? '' : ` ${limit.unit}`;
    lines.push(`${limit.label}: ${limit.value}${unit} (${words})`);
  }
  const { border, statistic, permeability } = scheme;
  const borderWords = markWords(border.mark);
  if (found.outcome?.onBorder != null && borderWords !== null) {
    lines.push(`A value on a border belongs to the ${border.belongsTo} class (${borderWords})`);
  }
  if (statistic.kind === 'quantile' && statistic.ruleMark !== 'read') {
    lines.push(statistic.ruleNote.replace(/\.$/, ''));
  }
  if (statistic.kind !== 'quantile') {
    const words = markWords(statistic.mark);
    if (words !== null) lines.push(`Statistic: ${statistic.name} (${words})`);
  }
  const mixed = permeability?.mixedRule;
  if (found.permeability.worst !== null && mixed !== undefined && mixed.mark !== 'read') {
    lines.push(`Mixed permeability: ${mixed.text.replace(/\.$/, '')} (our reading of the method)`);
  }
  if (found.sets.valid.some((p) => p.permeabilityFrom === 'draw')) {
    lines.push(
      "Permeability from flow and suction is as sure as the project's draw test: standard values in it are assumptions of this program, the shape factor of a cylinder is from memory; a clogged tip or a smeared hole reads tighter than the ground",
    );
  }
  return lines;
}

function hasPart(field: string, found: Judgement): boolean {
  const { valid } = found.sets;
  if (field.startsWith('potential.')) return found.route === 'potential';
  if (field.startsWith('table.')) return found.route === 'table';
  if (field.startsWith('raised.') || field.startsWith('layout.')) return false;
  if (field.startsWith('permeability.limits')) {
    return (
      found.route === 'table' &&
      valid.some((p) => p.permeabilityFrom === 'measured' || p.permeabilityFrom === 'draw')
    );
  }
  if (field.startsWith('permeability.fineFraction')) return valid.some((p) => p.permeabilityFrom === 'fines');
  return true;
}
