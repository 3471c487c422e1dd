/** What is to be said beside a class that rests on probes placed by earlier results. */
import type { Probe } from '../contract/model.ts';
import type { AddedProbes } from '../contract/results.ts';
import type { Judgement } from './judge.ts';

export type AddedProbe = Pick<Probe, 'id' | 'label' | 'state'>;

/** Null where none was added. */
export function addedProbes(added: readonly AddedProbe[], found: Judgement): AddedProbes | null {
  if (added.length === 0) return null;
  const valid = new Set(found.sets.valid.map((p) => p.probeId));
  return {
    labels: added.map((p) => p.label),
    waiting: added.filter((p) => p.state === 'planned').map((p) => p.label),
    validCount: added.filter((p) => valid.has(p.id)).length,
  };
}

export function addedCautions(added: AddedProbes | null): string[] {
  if (added === null) return [];
  const { labels, waiting } = added;
  const many = labels.length > 1;
  return [
    `${labels.join(', ')} ${many ? 'were' : 'was'} placed by the results before ${many ? 'them' : 'it'}, not by the first layout: the class is shown with and without ${many ? 'them' : 'it'}.`,
    ...(waiting.length === 0
      ? []
      : [
          `${waiting.join(', ')} ${waiting.length > 1 ? 'are' : 'is'} still to be driven. The number of added probes was fixed beforehand: drive all of them, whatever the others show.`,
        ]),
  ];
}
