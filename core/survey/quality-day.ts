/** Subjects of the quality summary that the day's log and the register of instruments answer. */
import type { QualityItem, QualityVerdict } from '../contract/quality.ts';
import { dayBackgrounds } from './day-backgrounds.ts';
import { dryerStates } from './dryer-states.ts';
import type { FieldSample } from './field-sample.ts';
import { type CrossCheckPair, checkControlProbe, crossCheck } from './instrument-checks.ts';
import {
  judged,
  labelsOf,
  limitFrom,
  named,
  overDays,
  type QualityState,
  type Subject,
} from './quality-item.ts';
import { uncertaintyOf } from './sample-facts.ts';
import type { WorkingDay } from './working-days.ts';

const PRACTICE = { source: 'Common practice', mark: 'common practice' } as const;
const DAY_MS = 86_400_000;

export function calibration({ samples, instruments, thresholds }: QualityState): QualityItem {
  const days = thresholds.calibrationDays;
  const subject: Subject = {
    id: 'calibration',
    what: 'Calibration',
    limit: `certificate no older than ${days} days when sampling`,
    from: limitFrom('calibrationDays'),
  };
  const namedOnes = new Set(samples.flatMap((s) => s.reduction?.instrument ?? []));
  const used = namedOnes.size === 0 ? instruments : instruments.filter((i) => namedOnes.has(i.label));
  const unnamed = namedOnes.size === 0 ? 0 : samples.filter((s) => s.reduction?.instrument == null).length;
  const dated = used.flatMap((i) => {
    const own = samples.filter((s) => namedOnes.size === 0 || s.reduction?.instrument === i.label);
    const times = own.flatMap((s) => (s.takenUtc === null ? [] : [Date.parse(s.takenUtc)]));
    if (i.certificateUtc === null || times.length === 0) return [];
    const at = Date.parse(i.certificateUtc);
    const ageDays = (Math.max(...times) - at) / DAY_MS;
    return [{ label: i.label, ageDays, isFuture: at > Math.min(...times) }];
  });
  if (dated.length === 0)
    return judged(
      subject,
      'not recorded',
      instruments.length === 0 ? 'no instrument entered' : 'no certificate date or no sampling time',
      'Whether the instrument was in calibration cannot be said.',
    );
  const oldest = Math.max(...dated.map((d) => d.ageDays));
  const value = `${dated.length} of ${used.length} instruments dated, oldest ${oldest.toFixed(0)} days`;
  const future = dated.filter((d) => d.isFuture);
  const over = dated.filter((d) => d.ageDays > days);
  if (future.length > 0)
    return judged(
      subject,
      'unfit',
      value,
      `A certificate is younger than the samples (${named(future.map((d) => d.label))}): check the dates.`,
    );
  if (over.length > 0)
    return judged(
      subject,
      'unfit',
      value,
      `A certificate had run out (${named(over.map((d) => d.label))}): have the instrument checked; all its values carry that doubt together.`,
    );
  const gaps = [
    ...(dated.length < used.length ? ['some instruments have no certificate date'] : []),
    ...(unnamed > 0 ? [`${unnamed} samples name no instrument`] : []),
  ];
  return gaps.length > 0
    ? judged(subject, 'look', value, `In calibration as far as is known; ${gaps.join(', and ')}.`)
    : judged(subject, 'fit', value, 'In calibration.');
}

export function backgrounds({ days, instruments }: QualityState): QualityItem {
  const subject: Subject = {
    id: 'backgrounds',
    what: 'Opening and closing background',
    limit: 'before the first and after the last sample of each day; no rise beyond chance (k = 2)',
    from: PRACTICE,
  };
  const found = dayBackgrounds(days, instruments);
  const verdicts = found.map((b): QualityVerdict => {
    if (!b.opening && !b.closing) return 'not recorded';
    return b.opening && b.closing ? 'fit' : 'look';
  });
  const overall = overDays(verdicts);
  const opening = found.filter((b) => b.opening).length;
  const closing = found.filter((b) => b.closing).length;
  const value = `opening ${opening}, closing ${closing} of ${found.length}`;
  if (overall === 'not recorded')
    return judged(
      subject,
      overall,
      'none',
      'What stayed in the instrument through the day is not known: only blanks speak of it.',
    );
  const risen = found.flatMap(({ day, label, rise }) =>
    rise !== null && rise.perS > 2 * rise.uPerS && rise.uPerS > 0
      ? [
          `${day}, ${label ?? 'instrument'}: by ${sig(60 * rise.perS)} counts/min (u ${sig(60 * rise.uPerS)}) in ${rise.window}`,
        ]
      : [],
  );
  if (risen.length > 0)
    return judged(
      subject,
      'look',
      value,
      `The closing background is higher than the opening one (${risen.join('; ')}): progeny or gas stayed in the chamber; late samples may read high.`,
    );
  const missing = found.filter((b) => !b.opening || !b.closing);
  return overall === 'fit'
    ? judged(
        subject,
        'fit',
        value,
        'There at both ends of every day, and not risen beyond chance where counted.',
      )
    : judged(subject, 'look', value, `Missing: ${missing.map(missingText).join('; ')}.`);
}

function missingText(b: ReturnType<typeof dayBackgrounds>[number]): string {
  const what = [...(b.opening ? [] : ['opening']), ...(b.closing ? [] : ['closing'])].join(' and ');
  return `${what} on ${b.day}${b.label === null ? '' : ` (${b.label})`}`;
}

/** Readings of a day at its control probe, for `checkControlProbe`. */
export function controlReadings(day: WorkingDay): Parameters<typeof checkControlProbe>[0] {
  const probeId = day.log?.controlProbeId ?? null;
  return day.samples.flatMap((s) =>
    s.probeId === probeId && s.kind !== 'blank' && s.takenUtc !== null && s.radonKBqPerM3 !== null
      ? [{ takenUtc: s.takenUtc, radonKBqPerM3: s.radonKBqPerM3, uKBqPerM3: uncertaintyOf(s) }]
      : [],
  );
}

/** First and last sample of a day; null where none has a time. */
export function spanOf(day: WorkingDay): readonly [firstUtc: string, lastUtc: string] | null {
  const times = day.samples.flatMap((s) => s.takenUtc ?? []);
  const [first, last] = [times[0], times.at(-1)];
  return first === undefined || last === undefined ? null : [first, last];
}

export function control(state: QualityState): QualityItem {
  const { days, probes, thresholds } = state;
  const subject: Subject = {
    id: 'control-probe',
    what: 'Control probe measured again',
    limit: `within ${thresholds.controlGapHours} h, from the first sample of the day to the last; drift within chance (k = 2)`,
    from: limitFrom('controlGapHours'),
  };
  const checks = days.map((day) => {
    const label = probes.find((p) => p.id === day.log?.controlProbeId)?.label ?? null;
    if (label === null) return { verdict: 'not recorded' as const, text: `${day.day}: none named` };
    const check = checkControlProbe(controlReadings(day), thresholds.controlGapHours, spanOf(day));
    const verdict: QualityVerdict = check.isComplete && !check.isDrifting ? 'fit' : 'look';
    return { verdict, text: `${day.day}, ${label}: ${check.words}` };
  });
  const verdict = overDays(checks.map((c) => c.verdict));
  if (verdict === 'not recorded')
    return judged(
      subject,
      verdict,
      'no control probe named',
      'Whether ground or instrument changed through the day is not known. Name the control probe in the log of the day.',
    );
  const words = checks.map((c) => c.text).join('. ');
  return judged(
    subject,
    verdict,
    `${checks.filter((c) => c.verdict === 'fit').length} of ${checks.length} days`,
    `${words}.`,
  );
}

/** Pairs of one hole: each a sample by another instrument than the first one's. */
function instrumentPairs(state: QualityState): Map<string, CrossCheckPair[]> {
  const pairs = new Map<string, CrossCheckPair[]>();
  for (const probe of state.probes) {
    const own = state.drawn.filter(
      (s) => s.probeId === probe.id && s.radonKBqPerM3 !== null && s.reduction?.instrument != null,
    );
    const [first, ...others] = own;
    if (first === undefined) continue;
    const second = others.find((s) => s.reduction?.instrument !== first.reduction?.instrument);
    if (second === undefined) continue;
    const [a, b] = [first, second].toSorted((x, y) => byName(instrumentOf(x), instrumentOf(y))) as [
      FieldSample,
      FieldSample,
    ];
    const key = `${instrumentOf(b)} over ${instrumentOf(a)}`;
    const side = (s: FieldSample) => ({ radonKBqPerM3: s.radonKBqPerM3 ?? 0, uKBqPerM3: uncertaintyOf(s) });
    pairs.set(key, [...(pairs.get(key) ?? []), { label: probe.label, first: side(a), second: side(b) }]);
  }
  return pairs;
}

function instrumentOf(s: FieldSample): string {
  return s.reduction?.instrument ?? '';
}

function byName(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

export function instrumentsAgree(state: QualityState): QualityItem {
  const subject: Subject = {
    id: 'cross-check',
    what: 'Instruments against each other',
    limit: 'the same gas by two instruments: within k = 2, or within 3 %',
    from: { source: 'Own assumption: less than 3 % changes no class', mark: 'own assumption' },
  };
  const used = new Set(state.drawn.flatMap((s) => s.reduction?.instrument ?? []));
  const checks = [...instrumentPairs(state)].flatMap(([key, pairs]) => {
    const check = crossCheck(pairs);
    return check === null ? [] : [{ key, check }];
  });
  if (checks.length === 0)
    return used.size < 2
      ? judged(
          subject,
          'not recorded',
          `${used.size} instrument${used.size === 1 ? '' : 's'} named`,
          'No hole was measured by two instruments.',
        )
      : judged(
          subject,
          'look',
          `${used.size} instruments, no hole by two`,
          'Several instruments measured the lot and never the same gas: a difference between them looks like ground.',
        );
  const isFit = checks.every((c) => c.check.verdict === 'agree');
  return judged(
    subject,
    isFit ? 'fit' : 'look',
    checks.map((c) => `${c.key}: ${c.check.ratio.toFixed(3)}`).join('; '),
    checks.map((c) => `${c.key}. ${c.check.words}`).join(' '),
  );
}

export function rain({ days, thresholds }: QualityState): QualityItem {
  const subject: Subject = {
    id: 'rain',
    what: 'Rain',
    limit: `not within ${thresholds.rainHours} h of ${thresholds.rainMm} mm or more`,
    from: limitFrom('rainMm', 'rainHours'),
  };
  const each = days.map(({ day, log }) => {
    const { rainMm = null, hoursSinceRain = null } = log ?? {};
    if (rainMm === null || (rainMm > 0 && hoursSinceRain === null))
      return { verdict: 'not recorded' as const, text: `${day}: not noted` };
    const isWet = rainMm >= thresholds.rainMm && (hoursSinceRain ?? 0) < thresholds.rainHours;
    const verdict: QualityVerdict = isWet ? 'look' : 'fit';
    return { verdict, text: `${day}: ${rainMm === 0 ? 'none' : `${rainMm} mm, ${hoursSinceRain} h before`}` };
  });
  const verdict = overDays(each.map((e) => e.verdict));
  const value = each.length === 0 ? 'no weather noted' : each.map((e) => e.text).join('; ');
  const words = {
    'not recorded':
      'A wet top layer holds gas back and fills pores: without the weather the values cannot be compared with another day.',
    look: each.some((e) => e.verdict === 'look')
      ? 'Sampled soon after heavy rain: say so in the report, or come again.'
      : 'No heavy rain just before, on the days that have a note of it.',
    unfit: '',
    fit: 'No heavy rain just before.',
  }[verdict];
  return judged(subject, verdict, value, words);
}

export function surface({ days }: QualityState): QualityItem {
  const subject: Subject = {
    id: 'ground-surface',
    what: 'Ground surface',
    limit: 'neither wet nor frozen',
    from: {
      source: 'A frozen or wet top layer holds gas back and raises it below (Denver, one year, abstract)',
      mark: 'confirmed',
    },
  };
  const each = days.map(({ log }): QualityVerdict => {
    const state = log?.surface ?? null;
    if (state === null) return 'not recorded';
    return state === 'wet' || state === 'frozen' ? 'look' : 'fit';
  });
  const verdict = overDays(each);
  const value = days.map(({ day, log }) => `${day}: ${log?.surface ?? 'not noted'}`).join('; ');
  const isCapped = each.includes('look');
  return judged(
    subject,
    verdict,
    verdict === 'not recorded' ? 'nothing noted' : value,
    verdict === 'not recorded'
      ? 'Not written down.'
      : isCapped
        ? 'A capped surface: values can be higher than on a dry day. It is told, not corrected.'
        : verdict === 'fit'
          ? 'Open ground on every day.'
          : 'Open ground on the days that have a note of it.',
  );
}

export function dryer(state: QualityState): QualityItem {
  const subject: Subject = {
    id: 'dryer',
    what: 'Dryer',
    limit: 'fresh at every sample',
    from: {
      source: 'Collection of charged Po-218 falls with humidity (1999 conference abstract); common practice',
      mark: 'common practice',
    },
  };
  const states = dryerStates(state.drawn, state.days);
  const of = (...kinds: readonly string[]) =>
    state.drawn.filter((s) => kinds.includes(states.get(s.id) ?? ''));
  const [bad, fresh, unknown] = [of('spent', 'doubtful'), of('fresh'), of('unknown')];
  if (bad.length > 0)
    return judged(
      subject,
      'unfit',
      `spent or doubtful at ${bad.length} of ${state.drawn.length} samples`,
      `At ${named(labelsOf(state, bad))} it was spent, or found so before it was next seen fresh: a collecting detector reads low then.`,
    );
  if (fresh.length === 0)
    return judged(subject, 'not recorded', 'nothing noted', 'The state of the dryer was not written down.');
  return unknown.length > 0
    ? judged(
        subject,
        'look',
        `fresh at ${fresh.length} of ${state.drawn.length} samples`,
        `Nobody looked at it for ${named(labelsOf(state, unknown))}.`,
      )
    : judged(subject, 'fit', `fresh at ${fresh.length} samples`, 'Dry gas reached the detector.');
}

export function threadTape({ days }: QualityState): QualityItem {
  const subject: Subject = {
    id: 'thread-tape',
    what: 'Thread tape',
    limit: 'fresh at each assembly',
    from: PRACTICE,
  };
  const each = days.map(({ log }): QualityVerdict => {
    const isFresh = log?.freshTape ?? null;
    return isFresh === null ? 'not recorded' : isFresh ? 'fit' : 'look';
  });
  const verdict = overDays(each);
  const words = {
    'not recorded': 'Not written down.',
    fit: 'Joints were sealed anew each time.',
    look: each.includes('look')
      ? 'Old tape leaks: look at suction and oxygen.'
      : 'Sealed anew on the days that have a note of it.',
    unfit: '',
  }[verdict];
  const value = { 'not recorded': 'nothing noted', fit: 'fresh each time', look: 'not each time', unfit: '' }[
    verdict
  ];
  return judged(subject, verdict, value, words);
}

export function crew({ days }: QualityState): QualityItem {
  const subject: Subject = { id: 'crew', what: 'Crew', limit: 'named for every day', from: PRACTICE };
  const each = days.map(
    ({ log }): QualityVerdict => ((log?.crew ?? '').trim() === '' ? 'not recorded' : 'fit'),
  );
  const verdict = overDays(each);
  const value = days.flatMap(({ day, log }) => (log?.crew ? [`${day}: ${log.crew}`] : [])).join('; ');
  return judged(
    subject,
    verdict,
    value === '' ? 'not named' : value,
    verdict === 'fit'
      ? 'Who drew the samples is known.'
      : 'Who drew the samples is not written down for every day.',
  );
}

function sig(value: number): number {
  return Number(value.toPrecision(3));
}
