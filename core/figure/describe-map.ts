import { unitText } from '../contract/project-words.ts';
import { probeSymbol, SYMBOL_KINDS } from '../contract/symbols.ts';
import type { FigureInput } from './figure-model.ts';
import { describeNorth } from './furniture.ts';
import type { MapView } from './map-view.ts';
import { formatLevel } from './words.ts';

/** The map in words, for whoever listens to the page. */
export function describeMap(input: FigureInput, view: MapView): string {
  const counts = SYMBOL_KINDS.flatMap((kind) => {
    const count = input.probes.filter((probe) => probe.symbol === kind).length;
    return count === 0 ? [] : [`${count} ${probeSymbol(kind).name.split(':')[0]?.toLowerCase()}`];
  });
  const levels = [...new Set((input.surface?.lines ?? []).map((line) => line.level))]
    .sort((a, b) => a - b)
    .map((level) => formatLevel(level, input.radonUnit));
  return [
    `Map at scale ${view.scale.text}, ${describeNorth(input.frame)}`,
    input.lot === null ? 'No lot line.' : 'The lot with its line.',
    input.footprint === null ? '' : `Footprint: ${input.footprint.label}.`,
    input.probes.length === 0
      ? 'No probes.'
      : `Probes: ${counts.join(', ')}; each value stands in the table.`,
    levels.length === 0
      ? 'No contours.'
      : `Contours of radon at ${levels.join(', ')} ${unitText(input.radonUnit)}.`,
  ]
    .filter((part) => part !== '')
    .join(' ');
}
