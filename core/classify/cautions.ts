/** What a class says of the points it stands on. */
import { format } from './evaluate.ts';
import type { Judgement } from './judge.ts';
import type { Scheme } from './scheme.ts';

/** Where the scheme wants the points, and those that are not as deep as it asks. */
export function placeCautions(scheme: Scheme, found: Judgement): string[] {
  const lines: string[] = [];
  if (scheme.place !== null) lines.push(scheme.place);
  const { depthM } = scheme;
  if (depthM !== null) {
    const shallow = found.sets.valid.filter((p) => p.depthM !== null && p.depthM < depthM.value - 1e-9);
    const unknown = found.sets.valid.filter((p) => p.depthM === null).length;
    if (shallow.length > 0) {
      lines.push(
        `Less deep than the scheme's ${depthM.value} m: ${shallow.map((p) => `${p.label} (${format(Number((p.depthM ?? 0).toPrecision(3)))} m)`).join(', ')}. Such points read low; no depth correction enters a class.`,
      );
    }
    if (unknown > 0)
      lines.push(
        `${unknown} valid points have no depth written down; the scheme asks for ${depthM.value} m.`,
      );
  }
  return lines;
}

/** Ground without any radon is rare; a dead instrument is not. Own assumption: most points unread are worth a word. */
export function detectionCautions({ sets: { valid } }: Judgement): string[] {
  const unread = valid.filter((p) => p.isNonDetect).length;
  if (2 * unread <= valid.length) return [];
  const many =
    unread === valid.length
      ? `None of ${unread} valid points`
      : `Only ${valid.length - unread} of ${valid.length} valid points`;
  return [
    `${many} holds radon above its detection limit. Soil gas without radon is rare: an instrument that does not count, or outside air in every draw, reads the same. Check the instrument on gas that is known to hold radon before this class is relied on.`,
  ];
}
