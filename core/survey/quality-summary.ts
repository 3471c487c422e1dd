import type { FlagThresholds, Probe, SampleAssessment } from '../contract/model.ts';
import type { FieldSample } from './field-sample.ts';
import { relativePercentDifference } from './quality-rules.ts';

export type QualityVerdict = 'fit' | 'look' | 'unfit' | 'not recorded';

export interface QualityItem {
  readonly what: string;
  readonly value: string;
  readonly limit: string;
  readonly source: string;
  readonly verdict: QualityVerdict;
  /** What it means and, where it is not fit, what to do. */
  readonly words: string;
}

/** What the summary reads; everything beyond probes and samples may be left out and is then said to be missing. */
export interface QualityInput {
  readonly probes: readonly Probe[];
  readonly samples: readonly FieldSample[];
  readonly assessments: readonly SampleAssessment[];
  readonly thresholds: FlagThresholds;
  readonly instruments?: readonly {
    readonly label: string;
    /** Day of the calibration certificate, ISO 8601. */
    readonly certificateUtc: string | null;
  }[];
  /** Days from a certificate to the next one due. */
  readonly calibrationDays?: number;
  readonly weather?: { readonly rainMm: number | null; readonly hoursSinceRain: number | null } | null;
  readonly desiccant?: 'fresh' | 'spent' | null;
  readonly threadTapeEachTime?: boolean | null;
}

const DTSC = 'California DTSC active soil-gas advisory 2015';

/** Quality of the campaign in words, one item a subject, in the order of a report. Nothing recorded is never 'fit'. */
export function summariseQuality(input: QualityInput): { readonly items: readonly QualityItem[] } {
  const thresholds = input.thresholds;
  const drawn = input.samples.filter((s) => s.kind !== 'blank');
  return {
    items: [
      duplicateCount(input, drawn),
      duplicateDifference(input, thresholds),
      blanks(input, drawn, thresholds),
      repeats(input),
      purge(drawn, thresholds),
      leakChecks(drawn, thresholds),
      outsideGases(drawn),
      calibration(input),
      rain(input),
      desiccant(input),
      threadTape(input),
      uncertainties(drawn),
      findings(input),
    ],
  };
}

function item(
  what: string,
  verdict: QualityVerdict,
  value: string,
  limit: string,
  source: string,
  words: string,
): QualityItem {
  return { what, value, limit, source, verdict, words };
}

function duplicateCount({ samples }: QualityInput, drawn: readonly FieldSample[]): QualityItem {
  const count = samples.filter((s) => s.kind === 'duplicate').length;
  const probes = new Set(drawn.map((s) => s.probeId)).size;
  const asked = Math.max(1, Math.ceil(probes / 20));
  return item(
    'Duplicates drawn',
    count >= asked ? 'fit' : 'look',
    `${count}`,
    `at least ${asked} for ${probes} probes (1 in 20)`,
    `${DTSC}, section 6.3.2`,
    count >= asked
      ? 'Enough duplicates were drawn to say how well two samples of one hole agree.'
      : 'Too few duplicates: how well two samples of one hole agree is not known for this campaign.',
  );
}

function duplicateDifference({ samples }: QualityInput, thresholds: FlagThresholds): QualityItem {
  const what = 'Difference of duplicates';
  const limit = `${thresholds.duplicateRpdPct} %, over ${REJECT_RPD_PCT} % explained or rejected`;
  const source = 'Relative per cent difference, vapour-intrusion practice, from memory';
  const pairs = samples
    .filter((s) => s.kind === 'duplicate' && s.radonKBqPerM3 !== null)
    .flatMap((s) => {
      const first = samples.find(
        (g) => g.kind === 'grab' && g.probeId === s.probeId && g.radonKBqPerM3 !== null,
      );
      return first === undefined
        ? []
        : [relativePercentDifference(s.radonKBqPerM3 ?? 0, first.radonKBqPerM3 ?? 0)];
    });
  if (pairs.length === 0)
    return item(what, 'not recorded', 'no pair', limit, source, 'No pair of duplicates has two values.');
  const worst = Math.max(...pairs);
  const verdict = worst > REJECT_RPD_PCT ? 'unfit' : worst > thresholds.duplicateRpdPct ? 'look' : 'fit';
  const words = {
    fit: 'The duplicates agree as well as is usual.',
    look: 'The duplicates differ more than is usual: look for a leak, or short-lived thoron in one of them.',
    unfit: 'The duplicates disagree: explain it, or take both holes again.',
  }[verdict];
  return item(what, verdict, `${worst.toFixed(0)} % (largest of ${pairs.length})`, limit, source, words);
}

const REJECT_RPD_PCT = 50;

function blanks(
  { samples }: QualityInput,
  drawn: readonly FieldSample[],
  thresholds: FlagThresholds,
): QualityItem {
  const values = samples.filter((s) => s.kind === 'blank');
  const days = new Set(drawn.flatMap((s) => (s.takenUtc === null ? [] : [s.takenUtc.slice(0, 10)]))).size;
  const asked = Math.max(1, days, Math.ceil(drawn.length / 20));
  const limit = `at least ${asked}, each under ${thresholds.minimumValueKBqPerM3} kBq/m3`;
  const source = `1 in 20 or each day: ${DTSC}, section 6.3.1; value as for failed samples, common practice`;
  if (values.length === 0) {
    return item(
      'Blanks',
      'not recorded',
      'none',
      limit,
      source,
      'No blank: gas left from hot samples cannot be told from gas of the ground.',
    );
  }
  const worst = Math.max(...values.map((s) => s.radonKBqPerM3 ?? 0));
  const unread = values.filter((s) => s.radonKBqPerM3 === null && s.radonBelowKBqPerM3 === null).length;
  const clean = worst < thresholds.minimumValueKBqPerM3;
  const verdict = !clean ? 'unfit' : values.length < asked || unread > 0 ? 'look' : 'fit';
  const words = {
    unfit:
      'A blank holds radon: samples drawn near it in time read high by as much. Flush, dry and take them again.',
    look: `The blanks are clean, but too few or without a value (${values.length} of ${asked}, ${unread} unread).`,
    fit: 'The blanks are clean.',
  }[verdict];
  return item('Blanks', verdict, `${values.length}, highest ${worst} kBq/m3`, limit, source, words);
}

function repeats({ samples, assessments }: QualityInput): QualityItem {
  const count = samples.filter((s) => s.kind === 'repeat').length;
  const rules = ['falling-repeat', 'lower-than-other-draw'];
  const odd = assessments.filter((a) => a.flags.some((f) => rules.includes(f.rule))).length;
  const source = 'Common practice';
  const limit = 'no draw lower than its pair explains';
  if (count === 0)
    return item('Repeats', 'not recorded', 'none', limit, source, 'No hole was drawn from again later.');
  return item(
    'Repeats',
    odd > 0 ? 'look' : 'fit',
    `${count}, of which ${odd} disagree`,
    limit,
    source,
    odd > 0 ? 'Some repeats disagree: see their flags.' : 'Repeats agree with the first draws.',
  );
}

function purge(drawn: readonly FieldSample[], thresholds: FlagThresholds): QualityItem {
  const known = drawn.flatMap((s) =>
    s.pumpedMl == null || s.systemMl == null || !(s.systemMl > 0) ? [] : [s.pumpedMl / s.systemMl],
  );
  const limit = `at least ${thresholds.leastSystemVolumes} system volumes`;
  const source = `${DTSC}, section 4.2.3 (vapour practice)`;
  if (known.length === 0) {
    return item(
      'Purge',
      'not recorded',
      'no volumes',
      limit,
      source,
      'Pumped and system volumes were not written down: air of the system may be in every sample.',
    );
  }
  const least = Math.min(...known);
  const missing = drawn.length - known.length;
  const short = known.filter((v) => v < thresholds.leastSystemVolumes * (1 - 1e-9)).length;
  const verdict = least < 1 ? 'unfit' : short > 0 || missing > 0 ? 'look' : 'fit';
  const words =
    verdict === 'fit'
      ? 'Every sample was drawn after enough purge.'
      : `${short} samples after too short a purge, ${missing} without a note of it.`;
  return item('Purge', verdict, `least ${least.toFixed(1)}`, limit, source, words);
}

function leakChecks(drawn: readonly FieldSample[], thresholds: FlagThresholds): QualityItem {
  const tracer = drawn.filter((s) => s.tracerPct != null && s.tracerShroudPct != null);
  const shutIn = drawn.filter((s) => s.leakTestPassed != null);
  const limit = `tracer up to ${thresholds.tracerLeakPct} %; shut-in without visible loss; at every point`;
  const source = `${DTSC}, sections 4.2.1 and 4.2.2`;
  const checked = new Set([...tracer, ...shutIn].map((s) => s.id)).size;
  if (checked === 0) {
    return item(
      'Leak checks',
      'not recorded',
      'none',
      limit,
      source,
      'Neither tracer nor shut-in test was written down: leaks show only by the other signs.',
    );
  }
  const leaky =
    tracer.filter((s) => (100 * (s.tracerPct ?? 0)) / (s.tracerShroudPct ?? 1) > thresholds.tracerLeakPct)
      .length + shutIn.filter((s) => s.leakTestPassed === false).length;
  const verdict = leaky > 0 ? 'unfit' : checked < drawn.length ? 'look' : 'fit';
  const words = {
    unfit: 'Some failed: seal, and draw these again at least 1.5 m off.',
    look: 'All that were made passed, but not every sample has one.',
    fit: 'Every sample passed its leak check.',
  }[verdict];
  return item('Leak checks', verdict, `${checked} of ${drawn.length}, ${leaky} failed`, limit, source, words);
}

function outsideGases(drawn: readonly FieldSample[]): QualityItem {
  const read = drawn.filter((s) => s.oxygenPct !== null || s.carbonDioxidePct !== null).length;
  const source = 'Common practice; what it is worth: docs/flags.md';
  if (read === 0) {
    return item(
      'Oxygen or carbon dioxide',
      'not recorded',
      'none',
      'at every point',
      source,
      'Not read: a leak of half outside air passes unseen on many lots.',
    );
  }
  return item(
    'Oxygen or carbon dioxide',
    read < drawn.length ? 'look' : 'fit',
    `${read} of ${drawn.length}`,
    'at every point',
    source,
    read < drawn.length ? 'Some samples have neither.' : 'Every sample has one.',
  );
}

function calibration(input: QualityInput): QualityItem {
  const days = input.calibrationDays ?? 365;
  const limit = `certificate no older than ${days} days when sampling`;
  const source = 'Common practice (a year); local rules may ask for less';
  const instruments = input.instruments ?? [];
  const taken = input.samples.flatMap((s) => (s.takenUtc === null ? [] : [Date.parse(s.takenUtc)]));
  const last = Math.max(...taken);
  const known = instruments.filter((i) => i.certificateUtc !== null);
  if (known.length === 0 || taken.length === 0) {
    return item(
      'Calibration',
      'not recorded',
      instruments.length === 0 ? 'no instrument entered' : 'no certificate date or no sampling time',
      limit,
      source,
      'Whether the instrument was in calibration cannot be said.',
    );
  }
  const ages = known.map((i) => (last - Date.parse(i.certificateUtc ?? '')) / 86_400_000);
  const oldest = Math.max(...ages);
  const isFuture = ages.some((a) => a < 0);
  const verdict = oldest > days || isFuture ? 'unfit' : known.length < instruments.length ? 'look' : 'fit';
  const words = isFuture
    ? 'A certificate is younger than the samples: check the dates.'
    : {
        unfit:
          'A certificate had run out: have the instrument checked; all its values carry that doubt together.',
        look: 'Some instruments have no certificate date.',
        fit: 'In calibration.',
      }[verdict];
  return item('Calibration', verdict, `oldest ${oldest.toFixed(0)} days`, limit, source, words);
}

function rain({ weather }: QualityInput): QualityItem {
  const limit = `not within ${RAIN_HOURS} h of ${RAIN_MM} mm or more`;
  const source = `13 mm: Cal/EPA 2003 as cited; waits of 1, 3 and 5 days are in use, ${RAIN_HOURS / 24} day taken`;
  const { rainMm = null, hoursSinceRain = null } = weather ?? {};
  if (rainMm === null || (rainMm > 0 && hoursSinceRain === null)) {
    return item(
      'Rain',
      'not recorded',
      'no weather entered',
      limit,
      source,
      'A wet top layer holds gas back and fills pores: without the weather the values cannot be compared with another day.',
    );
  }
  const wet = rainMm >= RAIN_MM && (hoursSinceRain ?? 0) < RAIN_HOURS;
  return item(
    'Rain',
    wet ? 'look' : 'fit',
    rainMm === 0 ? 'none' : `${rainMm} mm, ${hoursSinceRain} h before`,
    limit,
    source,
    wet
      ? 'Sampled soon after heavy rain: say so in the report, or come again.'
      : 'No heavy rain just before.',
  );
}

const RAIN_MM = 13;
const RAIN_HOURS = 24;

function desiccant({ desiccant: state, samples }: QualityInput): QualityItem {
  const spent = samples.filter((s) => s.saidDryerSpent === true).length;
  const source =
    'Collection of charged Po-218 falls with humidity (1999 conference abstract); common practice';
  const limit = 'fresh at every sample';
  if (spent > 0 || state === 'spent') {
    return item(
      'Dryer',
      'unfit',
      spent > 0 ? `spent at ${spent} samples` : 'spent',
      limit,
      source,
      'A spent dryer makes a collecting detector read low, at all samples since it was last seen fresh.',
    );
  }
  return state === 'fresh'
    ? item('Dryer', 'fit', 'fresh', limit, source, 'Dry gas reached the detector.')
    : item(
        'Dryer',
        'not recorded',
        'nothing noted',
        limit,
        source,
        'The state of the dryer was not written down.',
      );
}

function threadTape({ threadTapeEachTime: taped }: QualityInput): QualityItem {
  const limit = 'fresh at each assembly';
  const source = 'Common practice';
  if (taped == null)
    return item('Thread tape', 'not recorded', 'nothing noted', limit, source, 'Not written down.');
  return taped
    ? item('Thread tape', 'fit', 'fresh each time', limit, source, 'Joints were sealed anew each time.')
    : item(
        'Thread tape',
        'look',
        'not each time',
        limit,
        source,
        'Old tape leaks: look at suction and oxygen.',
      );
}

function uncertainties(drawn: readonly FieldSample[]): QualityItem {
  const values = drawn.filter((s) => s.radonKBqPerM3 !== null);
  const bare = values.filter((s) => s.radonUKBqPerM3 === null).length;
  const source = 'Design of this program: every value carries a standard uncertainty';
  if (values.length === 0)
    return item('Uncertainty', 'not recorded', 'no values', 'with every value', source, 'There is no value.');
  return item(
    'Uncertainty',
    bare === 0 ? 'fit' : bare === values.length ? 'not recorded' : 'look',
    `${values.length - bare} of ${values.length} values`,
    'with every value',
    source,
    bare === 0
      ? 'Every value has its uncertainty.'
      : 'Values without one are taken with an assumed uncertainty.',
  );
}

function findings({ assessments, samples }: QualityInput): QualityItem {
  const kinds = new Map(samples.map((s) => [s.id, s.kind]));
  const judged = assessments.filter((a) => kinds.get(a.sampleId) !== 'blank');
  const diluted = judged.filter((a) => a.dilution === 'diluted').length;
  const suspect = judged.filter((a) => a.dilution === 'suspect').length;
  const wet = judged.filter((a) => a.water !== 'none').length;
  const source = 'Flags of this project; their error rates: docs/flags.md';
  return item(
    'Findings',
    diluted + suspect + wet > 0 ? 'look' : judged.length === 0 ? 'not recorded' : 'fit',
    `${diluted} diluted, ${suspect} suspect, ${wet} water or tight`,
    'none',
    source,
    diluted + suspect + wet > 0
      ? 'Each is to be looked at and ruled on, or left as its flags have it.'
      : 'No sample has a finding of dilution or water; small leaks are not found by any of these signs.',
  );
}
