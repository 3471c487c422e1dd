import type { Judgement } from './judge.ts';
import { listThresholds, type Scheme } from './scheme.ts';

const MARK_WORDS = { memory: 'from memory', practice: 'common practice' } as const;

/** What this outcome rests on without a source that was seen: only the rules that had a part in it. */
export function listUnconfirmed(scheme: Scheme, found: Judgement): string[] {
  const lines: string[] = [];
  for (const { field, limit } of listThresholds(scheme)) {
    if (limit.mark !== 'memory' && limit.mark !== 'practice') continue;
    if (!hasPart(field, found)) continue;
    const unit = limit.unit === '' ? '' : ` ${limit.unit}`;
    lines.push(`${limit.label}: ${limit.value}${unit} (${MARK_WORDS[limit.mark]})`);
  }
  const { border, statistic, permeability } = scheme;
  if (found.outcome?.onBorder != null && (border.mark === 'memory' || border.mark === 'practice')) {
    lines.push(`A value on a border belongs to the ${border.belongsTo} class (${MARK_WORDS[border.mark]})`);
  }
  if (statistic.kind === 'quantile' && statistic.ruleMark !== 'read') {
    lines.push(statistic.ruleNote.replace(/\.$/, ''));
  }
  const mixed = permeability?.mixedRule;
  if (found.permeability.worst !== null && mixed !== undefined && mixed.mark !== 'read') {
    lines.push(`Mixed permeability: ${mixed.text.replace(/\.$/, '')} (our reading of the method)`);
  }
  return lines;
}

function hasPart(field: string, found: Judgement): boolean {
  const { valid } = found.sets;
  if (field.startsWith('potential.')) return found.route === 'potential';
  if (field.startsWith('table.')) return found.route === 'table';
  if (field.startsWith('permeability.limits')) {
    return found.route === 'table' && valid.some((p) => p.permeabilityFrom === 'measured');
  }
  if (field.startsWith('permeability.fineFraction')) return valid.some((p) => p.permeabilityFrom === 'fines');
  return true;
}
