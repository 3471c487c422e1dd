/** What is typed at a hole, and the question it asks. Pure. */

import type { HoleFacts, HoleQuestion, TypedCounts, TypedInterval } from '../../core/contract/quality.ts';
import { toKBqPerM3 } from '../../core/units.ts';
import type { ShownRadonUnit } from '../format.ts';
import { parseCoordinate } from './corners.ts';
import type { LeakTestText } from './LeakTestField.tsx';
import { numberReader } from './typed-numbers.ts';

export interface HoleTexts {
  readonly probeId: string;
  /** '' for a new draw. */
  readonly sampleId: string;
  readonly radon: string;
  readonly radonU: string;
  readonly oxygenPct: string;
  readonly carbonDioxidePct: string;
  readonly suctionPa: string;
  readonly flowMlPerMin: string;
  readonly pumpedMl: string;
  readonly systemMl: string;
  readonly tracerPct: string;
  readonly tracerShroudPct: string;
  readonly leakTest: LeakTestText;
  readonly saidFreshAir: boolean;
  readonly saidWater: boolean;
  readonly saidTight: boolean;
  readonly instrumentId: string;
  /** One interval a line: start; length; counts; window. */
  readonly counts: string;
  readonly moreIntervals: string;
  readonly next: string;
}

export const NO_TEXTS: HoleTexts = {
  probeId: '',
  sampleId: '',
  radon: '',
  radonU: '',
  oxygenPct: '',
  carbonDioxidePct: '',
  suctionPa: '',
  flowMlPerMin: '',
  pumpedMl: '',
  systemMl: '',
  tracerPct: '',
  tracerShroudPct: '',
  leakTest: '',
  saidFreshAir: false,
  saidWater: false,
  saidTight: false,
  instrumentId: '',
  counts: '',
  moreIntervals: '',
  next: '',
};

type CountedInterval = TypedCounts['intervals'][number];

function parseInterval(line: string): CountedInterval | null {
  const [startText = '', lengthText = '', countsText = '', window = ''] = line
    .split(/[;\t]/)
    .map((cell) => cell.trim());
  const [startS, lengthS, counts] = [startText, lengthText, countsText].map(parseCoordinate);
  if (startS == null || startS < 0 || lengthS == null || lengthS <= 0) return null;
  if (counts == null || counts < 0 || !Number.isInteger(counts)) return null;
  return { startS, lengthS, counts, ...(window === '' ? {} : { window }) };
}

/** Intervals after the last one counted, each as long as it. */
function following(counted: readonly TypedInterval[], count: number): TypedInterval[] {
  const last = counted.reduce<TypedInterval | null>(
    (most, i) => (most === null || i.startS + i.lengthS > most.startS + most.lengthS ? i : most),
    null,
  );
  if (last === null) return [];
  const endS = last.startS + last.lengthS;
  return Array.from({ length: count }, (_, i) => ({
    startS: endS + i * last.lengthS,
    lengthS: last.lengthS,
  }));
}

/**
 * The question that the texts ask, or what is wrong with them, in words.
 * @param stored intervals that the project holds of the chosen sample
 */
export function questionOf(
  texts: HoleTexts,
  unit: ShownRadonUnit,
  stored: readonly TypedInterval[] = [],
): HoleQuestion | string {
  const { wrong, read } = numberReader();
  if (texts.probeId === '') wrong.push('Choose the probe.');
  const radon = read(texts.radon, 'Radon', 0, 1e6);
  const radonU = read(texts.radonU, 'Its standard uncertainty', 0, 1e6);
  const numbers = {
    radonKBqPerM3: radon === null ? null : toKBqPerM3(radon, unit),
    radonUKBqPerM3: radonU === null ? null : toKBqPerM3(radonU, unit),
    oxygenPct: read(texts.oxygenPct, 'Oxygen', 0, 100),
    carbonDioxidePct: read(texts.carbonDioxidePct, 'Carbon dioxide', 0, 100),
    suctionPa: read(texts.suctionPa, 'Suction', 0, 1e5),
    flowMlPerMin: read(texts.flowMlPerMin, 'Flow', 0, 1e5),
    pumpedMl: read(texts.pumpedMl, 'Pumped', 0.001, 1e7),
    systemMl: read(texts.systemMl, 'Volume of the line', 0.001, 1e7),
    tracerPct: read(texts.tracerPct, 'Tracer in the sample', 0, 100),
    tracerShroudPct: read(texts.tracerShroudPct, 'Tracer under the shroud', 0.000001, 100),
  };
  if ((numbers.tracerPct === null) !== (numbers.tracerShroudPct === null))
    wrong.push('The tracer is needed both in the sample and under the shroud.');
  const lines = texts.counts
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '');
  const intervals = lines.map(parseInterval);
  const bad = intervals.indexOf(null);
  if (bad >= 0) wrong.push(`Interval ${bad + 1}: write it as “start; length; counts”, in seconds.`);
  if (lines.length > 0 && texts.instrumentId === '') wrong.push('Choose the instrument that counts.');
  const more = read(texts.moreIntervals, 'Intervals still to come', 0, 50) ?? 0;
  const next = read(texts.next, 'Next hole', 0.000001, 1e6);
  if (wrong.length > 0) return wrong.join(' ');
  const facts: Record<string, number | boolean> = Object.fromEntries(
    Object.entries(numbers).filter((entry): entry is [string, number] => entry[1] !== null),
  );
  if (texts.leakTest !== '') facts['leakTestPassed'] = texts.leakTest === 'passed';
  for (const key of ['saidFreshAir', 'saidWater', 'saidTight'] as const) if (texts[key]) facts[key] = true;
  const counted = intervals.filter((interval) => interval !== null);
  return {
    probeId: texts.probeId,
    kind: 'grab',
    sampleId: texts.sampleId === '' ? null : texts.sampleId,
    facts: facts as HoleFacts,
    counts: texts.instrumentId === '' ? null : { instrumentId: texts.instrumentId, intervals: counted },
    toCome: following([...stored, ...counted], Math.round(more)),
    ...(next === null ? {} : { nextKBqPerM3: toKBqPerM3(next, unit) }),
  };
}
