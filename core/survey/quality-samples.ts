/** Subjects of the quality summary that the samples themselves answer. */
import type { QualityItem, QualityVerdict } from '../contract/quality.ts';
import type { FieldSample } from './field-sample.ts';
import { judged, labelsOf, limitFrom, named, type QualityState, type Subject } from './quality-item.ts';
import { relativePercentDifference } from './quality-rules.ts';
import { hasRadon } from './sample-facts.ts';

const PRACTICE = { source: 'Common practice', mark: 'common practice' } as const;
const LEAK_TEST = {
  source: 'Shut-in test and leak check at every point (California DTSC 2015, sections 4.2.1 and 4.2.2)',
  mark: 'confirmed',
} as const;

/** Duplicates asked for with so many holes sampled. */
export function duplicatesAsked(holes: number, samplesPerDuplicate: number): number {
  return Math.max(1, Math.ceil(holes / Math.max(1, samplesPerDuplicate)));
}

/** Blanks asked for: one each day, and one for so many samples. */
export function blanksAsked(days: number, drawn: number, samplesPerBlank: number): number {
  return Math.max(1, days, Math.ceil(drawn / Math.max(1, samplesPerBlank)));
}

export function duplicateCount({ samples, drawn, thresholds }: QualityState): QualityItem {
  const count = samples.filter((s) => s.kind === 'duplicate').length;
  const holes = new Set(drawn.map((s) => s.probeId)).size;
  const asked = duplicatesAsked(holes, thresholds.samplesPerDuplicate);
  const subject: Subject = {
    id: 'duplicates-drawn',
    what: 'Duplicates drawn',
    limit: `at least ${asked} for ${holes} holes (1 in ${thresholds.samplesPerDuplicate})`,
    from: limitFrom('samplesPerDuplicate'),
  };
  return count >= asked
    ? judged(subject, 'fit', `${count}`, 'Enough were drawn to say how well two samples of one hole agree.')
    : judged(
        subject,
        'look',
        `${count}`,
        'Too few duplicates: how well two samples of one hole agree is not known for this campaign.',
      );
}

export function duplicateDifference(state: QualityState): QualityItem {
  const { samples, thresholds } = state;
  const { duplicateRpdPct: lookPct, duplicateRejectPct: rejectPct } = thresholds;
  const subject: Subject = {
    id: 'duplicate-difference',
    what: 'Difference of duplicates',
    limit: `up to ${lookPct} % of their mean; over ${rejectPct} % explained or taken again`,
    from: limitFrom('duplicateRpdPct', 'duplicateRejectPct'),
  };
  const pairs = samples
    .filter((s) => s.kind === 'duplicate' && s.radonKBqPerM3 !== null)
    .flatMap((s) => {
      const first = samples.find(
        (g) => g.kind === 'grab' && g.probeId === s.probeId && g.radonKBqPerM3 !== null,
      );
      return first === undefined
        ? []
        : [{ sample: s, pct: relativePercentDifference(s.radonKBqPerM3 ?? 0, first.radonKBqPerM3 ?? 0) }];
    });
  if (pairs.length === 0)
    return judged(subject, 'not recorded', 'no pair', 'No pair of duplicates has two values.');
  const worst = pairs.reduce((most, p) => (p.pct > most.pct ? p : most));
  const verdict = worst.pct > rejectPct ? 'unfit' : worst.pct > lookPct ? 'look' : 'fit';
  const at = named(
    labelsOf(
      state,
      pairs.filter((p) => p.pct > lookPct).map((p) => p.sample),
    ),
  );
  const words = {
    fit: 'The duplicates agree as well as is usual.',
    look: `More than is usual at ${at}: look for a leak, or short-lived thoron in one of them.`,
    unfit: `The duplicates disagree at ${at}: explain it, or take the hole again.`,
  }[verdict];
  return judged(
    subject,
    verdict,
    `${worst.pct.toFixed(0)} % at most, ${pairs.length} pair${pairs.length === 1 ? '' : 's'}`,
    words,
  );
}

/** Not detected, but with a limit so high that radon enough to matter would have passed unseen. */
export function isBlind(blank: FieldSample, mostKBqPerM3: number): boolean {
  return (blank.radonBelowKBqPerM3 ?? 0) > mostKBqPerM3;
}

export function blanks({ samples, drawn, days, thresholds }: QualityState): QualityItem {
  const own = samples.filter((s) => s.kind === 'blank');
  const asked = blanksAsked(days.length, drawn.length, thresholds.samplesPerBlank);
  const most = thresholds.minimumValueKBqPerM3;
  const subject: Subject = {
    id: 'blanks',
    what: 'Blanks',
    limit: `at least ${asked}, each under ${most} kBq/m3`,
    from: limitFrom('samplesPerBlank', { source: 'value as for failed samples', mark: 'from memory' }),
  };
  if (own.length === 0)
    return judged(
      subject,
      'not recorded',
      'none',
      'No blank: gas left from hot samples cannot be told from gas of the ground.',
    );
  const values = own.flatMap((s) => s.radonKBqPerM3 ?? s.radonAboveKBqPerM3 ?? []);
  const unread = own.filter((s) => !hasRadon(s)).length;
  const blind = own.filter((s) => isBlind(s, most)).length;
  const highest = values.length === 0 ? 'none with a value' : `highest ${round(Math.max(...values))} kBq/m3`;
  const value = `${own.length}, ${highest}`;
  if (values.some((v) => v >= most))
    return judged(
      subject,
      'unfit',
      value,
      'A blank holds radon: samples drawn near it in time read high by as much. Flush, dry and take them again.',
    );
  const short = own.length - unread - blind;
  return short < asked
    ? judged(
        subject,
        'look',
        value,
        `Clean as far as they were read, but only ${short} of ${asked} can be counted: ${unread} without a value, ${blind} with a detection limit over ${most} kBq/m3.`,
      )
    : judged(subject, 'fit', value, 'The blanks are clean.');
}

export function repeats(state: QualityState): QualityItem {
  const own = state.samples.filter((s) => s.kind === 'repeat');
  const rules = ['falling-repeat', 'lower-than-other-draw'];
  const odd = new Set(
    state.assessments.filter((a) => a.flags.some((f) => rules.includes(f.rule))).map((a) => a.sampleId),
  );
  const subject: Subject = {
    id: 'repeats',
    what: 'Repeats',
    limit: 'no draw lower than its pair explains',
    from: limitFrom('repeatFallPct'),
  };
  if (own.length === 0) return judged(subject, 'not recorded', 'none', 'No hole was drawn from again later.');
  const at = named(
    labelsOf(
      state,
      state.samples.filter((s) => odd.has(s.id)),
    ),
  );
  return odd.size > 0
    ? judged(subject, 'look', `${own.length}, ${odd.size} disagree`, `Look at the findings of ${at}.`)
    : judged(subject, 'fit', `${own.length}`, 'Repeats agree with the first draws.');
}

export function purge(state: QualityState): QualityItem {
  const { drawn, thresholds } = state;
  const least = thresholds.leastSystemVolumes;
  const subject: Subject = {
    id: 'purge',
    what: 'Purge',
    limit: `at least ${least} system volumes before each sample`,
    from: limitFrom('leastSystemVolumes'),
  };
  const known = drawn.flatMap((s) =>
    s.pumpedMl === undefined || s.systemMl === undefined || !(s.systemMl > 0)
      ? []
      : [{ sample: s, volumes: s.pumpedMl / s.systemMl }],
  );
  if (known.length === 0)
    return judged(
      subject,
      'not recorded',
      'no volumes',
      'Pumped and system volumes were not written down: air of the system may be in every sample.',
    );
  const lowest = Math.min(...known.map((k) => k.volumes));
  const short = known.filter((k) => k.volumes < least * (1 - 1e-9));
  const missing = drawn.length - known.length;
  const verdict = lowest < 1 ? 'unfit' : short.length > 0 || missing > 0 ? 'look' : 'fit';
  const shortAt =
    short.length === 0
      ? ''
      : `Too short at ${named(
          labelsOf(
            state,
            short.map((k) => k.sample),
          ),
        )}. `;
  return judged(
    subject,
    verdict,
    `least ${lowest.toFixed(1)} volumes`,
    verdict === 'fit'
      ? 'Every sample was drawn after enough purge.'
      : `${shortAt}${missing === 0 ? '' : `${missing} samples without a note of it.`}`.trim(),
  );
}

export function flow(state: QualityState): QualityItem {
  const most = state.thresholds.mostFlowMlPerMin;
  const subject: Subject = {
    id: 'flow',
    what: 'Flow',
    limit: `up to ${most} mL/min`,
    from: limitFrom('mostFlowMlPerMin'),
  };
  const known = state.drawn.flatMap((s) => (s.flowMlPerMin === undefined ? [] : [s]));
  if (known.length === 0)
    return judged(subject, 'not recorded', 'none', 'How fast gas was drawn was not written down.');
  const fast = known.filter((s) => (s.flowMlPerMin ?? 0) > most);
  const value = `highest ${round(Math.max(...known.map((s) => s.flowMlPerMin ?? 0)))} mL/min, ${known.length} of ${state.drawn.length} samples`;
  if (fast.length > 0)
    return judged(
      subject,
      'look',
      value,
      `Faster at ${named(labelsOf(state, fast))}: a fast draw pulls surface air down. Look at suction and oxygen there.`,
    );
  return known.length < state.drawn.length
    ? judged(subject, 'look', value, 'Slow enough where it was noted.')
    : judged(subject, 'fit', value, 'Gas was drawn slowly throughout.');
}

export function leakChecks(state: QualityState): QualityItem {
  const { drawn, days, thresholds } = state;
  const subject: Subject = {
    id: 'leak-checks',
    what: 'Leak checks',
    limit: `tracer up to ${thresholds.tracerLeakPct} %, shut-in without visible loss, at every hole`,
    from: limitFrom('tracerLeakPct', LEAK_TEST),
  };
  const checked = drawn.filter((s) => leakOf(s, thresholds.tracerLeakPct) !== null);
  const failed = checked.filter((s) => leakOf(s, thresholds.tracerLeakPct) === false);
  const rig = days.flatMap((d) => d.log?.events ?? []).filter((e) => e.kind.startsWith('leak-'));
  const rigFailed = rig.filter((e) => e.kind === 'leak-failed');
  if (checked.length === 0 && rig.length === 0)
    return judged(
      subject,
      'not recorded',
      'none',
      'Neither tracer nor shut-in test was written down: leaks show only by the other signs.',
    );
  const rigText = rig.length === 0 ? '' : `; of the rig ${rig.length}, ${rigFailed.length} failed`;
  const value = `${checked.length} of ${drawn.length} samples, ${failed.length} failed${rigText}`;
  if (failed.length > 0)
    return judged(
      subject,
      'unfit',
      value,
      `Failed at ${named(labelsOf(state, failed))}: seal, and draw these again at least 1.5 m off.`,
    );
  if (rigFailed.length > 0)
    return judged(
      subject,
      'look',
      value,
      `The line of the rig leaked at ${rigFailed.map((e) => e.atUtc.slice(0, 16).replace('T', ' ')).join(', ')} UTC: samples since it last held may hold outside air.`,
    );
  return checked.length < drawn.length
    ? judged(subject, 'look', value, 'All that were made passed, but not every sample has one.')
    : judged(subject, 'fit', value, 'Every sample passed its leak check.');
}

/** Whether the leak check of a sample passed, by tracer and shut-in test together; null where none was made. */
export function leakOf(sample: FieldSample, tracerLeakPct: number): boolean | null {
  const { tracerPct, tracerShroudPct, leakTestPassed } = sample;
  const byTracer =
    tracerPct === undefined || tracerShroudPct === undefined || !(tracerShroudPct > 0)
      ? null
      : (100 * tracerPct) / tracerShroudPct <= tracerLeakPct;
  if (byTracer === false || leakTestPassed === false) return false;
  return byTracer === true || leakTestPassed === true ? true : null;
}

export function outsideGases({ drawn }: QualityState): QualityItem {
  const read = drawn.filter((s) => s.oxygenPct !== null || s.carbonDioxidePct !== null).length;
  const subject: Subject = {
    id: 'outside-gases',
    what: 'Oxygen or carbon dioxide',
    limit: 'read at every hole',
    from: { ...PRACTICE, source: "Common practice; what it is worth: the program's notes on flags" },
  };
  if (read === 0)
    return judged(
      subject,
      'not recorded',
      'none',
      'Not read: a leak of half outside air passes unseen on many lots.',
    );
  const isAll = read === drawn.length;
  return judged(
    subject,
    isAll ? 'fit' : 'look',
    `${read} of ${drawn.length} samples`,
    isAll ? 'Every sample has one.' : 'Some samples have neither.',
  );
}

export function uncertainties({ drawn }: QualityState): QualityItem {
  const values = drawn.filter((s) => s.radonKBqPerM3 !== null);
  const bare = values.filter((s) => s.radonUKBqPerM3 === null).length;
  const subject: Subject = {
    id: 'uncertainty',
    what: 'Uncertainty',
    limit: 'with every value',
    from: {
      source: 'Design of this program: every value carries a standard uncertainty',
      mark: 'own assumption',
    },
  };
  if (values.length === 0) return judged(subject, 'not recorded', 'no values', 'There is no value.');
  const verdict: QualityVerdict = bare === 0 ? 'fit' : bare === values.length ? 'not recorded' : 'look';
  return judged(
    subject,
    verdict,
    `${values.length - bare} of ${values.length} values`,
    bare === 0
      ? 'Every value has its uncertainty.'
      : 'Values without one are taken with an assumed uncertainty.',
  );
}

/** A dead instrument finds nothing anywhere, and so does one that is given outside air. */
export function detection(state: QualityState): QualityItem {
  const read = state.drawn.filter((s) => s.radonKBqPerM3 !== null || s.radonBelowKBqPerM3 !== null);
  const found = read.filter((s) => s.radonKBqPerM3 !== null).length;
  const subject: Subject = {
    id: 'detection',
    what: 'Radon found',
    limit: 'in most samples: soil gas without radon is rare',
    from: { source: 'Own assumption of this program', mark: 'own assumption' },
  };
  const value = `${found} of ${read.length} samples`;
  if (read.length === 0) return judged(subject, 'not recorded', value, 'There is no value.');
  if (2 * found >= read.length)
    return judged(subject, 'fit', value, 'Most samples hold radon above the detection limit.');
  return judged(
    subject,
    'look',
    value,
    'An instrument that does not count, or outside air in every draw, gives the same: check it on gas known to hold radon before low values are relied on.',
  );
}

export function findings(state: QualityState): QualityItem {
  const blankIds = new Set(state.samples.filter((s) => s.kind === 'blank').map((s) => s.id));
  const own = state.assessments.filter((a) => !blankIds.has(a.sampleId));
  const diluted = own.filter((a) => a.dilution === 'diluted').length;
  const suspect = own.filter((a) => a.dilution === 'suspect').length;
  const wet = own.filter((a) => a.water !== 'none').length;
  const subject: Subject = {
    id: 'findings',
    what: 'Findings',
    limit: 'none',
    from: {
      source:
        "Findings of this project; their error rates on simulated campaigns: the program's notes on flags",
      mark: 'own assumption',
    },
  };
  const value = `${diluted} diluted, ${suspect} suspect, ${wet} water or tight`;
  if (own.length === 0) return judged(subject, 'not recorded', value, 'There is no sample.');
  return diluted + suspect + wet > 0
    ? judged(subject, 'look', value, 'Each is to be looked at and ruled on, or left as its findings have it.')
    : judged(
        subject,
        'fit',
        value,
        'No sample has a finding of dilution or water; small leaks are not found by any of these signs.',
      );
}

function round(value: number): number {
  return Number(value.toPrecision(3));
}
