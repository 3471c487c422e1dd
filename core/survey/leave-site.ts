import type { Probe, SampleAssessment } from '../contract/model.ts';
import type { ChecklistItem, DayLogEntry, LeaveSite } from '../contract/quality.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import { dayBackgrounds, type UsedInstrument } from './day-backgrounds.ts';
import { dryerStates } from './dryer-states.ts';
import type { FieldSample } from './field-sample.ts';
import { checkControlProbe } from './instrument-checks.ts';
import { controlReadings, spanOf } from './quality-day.ts';
import { blanksAsked, duplicatesAsked, isBlind, leakOf } from './quality-samples.ts';
import { hasRadon } from './sample-facts.ts';
import { workingDays } from './working-days.ts';

export interface SiteState {
  readonly probes: readonly Probe[];
  readonly samples: readonly FieldSample[];
  readonly assessments: readonly SampleAssessment[];
  readonly thresholds: FlagThresholds;
  /** Points the scheme counts as valid, and the least number it asks for. */
  readonly validCount: number;
  readonly minimumCount: number;
  readonly instruments: readonly UsedInstrument[];
  readonly logs: readonly DayLogEntry[];
}

/**
 * What has to be there before the crew drives home, as done or missing; nothing recorded is missing. Points, probes and
 * second draws are those of the whole campaign; backgrounds, control probe, dryer and weather those of the last day.
 */
export function leaveSiteChecklist(state: SiteState): LeaveSite {
  const days = workingDays(state.samples, state.logs);
  const last = days.at(-1) ?? null;
  const items = [...campaignItems(state, days.length), ...lastDayItems(state, last)];
  const missing = items.filter((i) => !i.isDone).length;
  const words =
    missing === 0
      ? 'Everything on this list is there.'
      : `${missing} of ${items.length} are missing: it is easier now than coming back.`;
  return { day: last?.day ?? null, isComplete: missing === 0, words, items };
}

function campaignItems(state: SiteState, dayCount: number): ChecklistItem[] {
  const { probes, samples, assessments, thresholds, validCount, minimumCount } = state;
  const drawn = samples.filter((s) => s.kind !== 'blank');
  const labels = new Map(probes.map((p) => [p.id, p.label]));
  const labelOf = (probeId: string) => labels.get(probeId) ?? probeId;
  const duplicates = samples.filter((s) => s.kind === 'duplicate').length;
  const duplicateGoal = duplicatesAsked(
    new Set(drawn.map((s) => s.probeId)).size,
    thresholds.samplesPerDuplicate,
  );
  const most = thresholds.minimumValueKBqPerM3;
  const read = samples.filter((s) => s.kind === 'blank' && hasRadon(s));
  const blanks = read.filter((s) => !isBlind(s, most));
  const blind = read.length - blanks.length;
  const unclean = blanks.filter((s) => (s.radonKBqPerM3 ?? 0) >= most).length;
  const blankGoal = blanksAsked(dayCount, drawn.length, thresholds.samplesPerBlank);
  const planned = probes.filter((p) => p.state === 'planned').map((p) => p.label);
  const silent = probes
    .filter((p) => p.state === 'driven' && !drawn.some((s) => s.probeId === p.id))
    .map((p) => p.label);
  const open = assessments
    .filter((a) => a.ruling === null && a.water === 'water-or-tight')
    .map((a) => labelOf(a.probeId));
  const unchecked = drawn
    .filter((s) => hasRadon(s) && leakOf(s, thresholds.tracerLeakPct) === null)
    .map((s) => labelOf(s.probeId));
  const doubtful = notDrawnAgain(state).map(labelOf);
  const untimed = drawn.filter((s) => s.takenUtc === null).map((s) => labelOf(s.probeId));
  return [
    item(
      'valid-points',
      'Enough valid points for the scheme',
      validCount >= minimumCount,
      `${validCount} of ${minimumCount}; suspect ones count, diluted, wet, too shallow and left-out ones do not. Draw failed ones again at least 1.5 m off.`,
    ),
    item('planned', 'Every planned probe driven or given up', planned.length === 0, listed(planned)),
    item('sampled', 'Every driven probe sampled', drawn.length > 0 && silent.length === 0, listed(silent)),
    item(
      'water-or-tight',
      'Every probe without gas said to be wet or tight',
      open.length === 0,
      listed(open),
    ),
    item(
      'drawn-again',
      'Every diluted or suspect sample drawn again or ruled on',
      doubtful.length === 0,
      listed(doubtful),
    ),
    item(
      'leak-checks',
      'A leak check with every sample',
      drawn.length > 0 && unchecked.length === 0,
      listed(unchecked),
    ),
    item('duplicates', 'Duplicates', duplicates >= duplicateGoal, `${duplicates} of ${duplicateGoal}`),
    item(
      'blanks',
      'Clean blanks with a value',
      blanks.length >= blankGoal && unclean === 0,
      `${blanks.length} of ${blankGoal}${blind === 0 ? '' : `; not counted, with a detection limit over ${most} kBq/m3: ${blind}`}${unclean === 0 ? '' : `; ${unclean} hold radon: flush, dry, and take another`}`,
    ),
    item(
      'times',
      'A time with every sample',
      drawn.length > 0 && untimed.length === 0,
      drawn.length === 0 ? 'no sample yet' : listed(untimed),
    ),
  ];
}

/** Probes whose last grab or repeat is diluted or suspect and not ruled on. */
function notDrawnAgain({ samples, assessments }: SiteState): string[] {
  const found = new Map(assessments.map((a) => [a.sampleId, a]));
  const latest = new Map<string, FieldSample>();
  for (const sample of samples) {
    if (sample.kind === 'blank') continue;
    const before = latest.get(sample.probeId);
    const isLater =
      before === undefined ||
      sample.takenUtc === null ||
      before.takenUtc === null ||
      Date.parse(sample.takenUtc) >= Date.parse(before.takenUtc);
    if (isLater) latest.set(sample.probeId, sample);
  }
  return [...latest].flatMap(([probeId, sample]) => {
    const a = found.get(sample.id);
    return a !== undefined && a.ruling === null && a.dilution !== 'none' ? [probeId] : [];
  });
}

function lastDayItems(
  { samples, thresholds, instruments }: SiteState,
  last: ReturnType<typeof workingDays>[number] | null,
): ChecklistItem[] {
  const log = last?.log ?? null;
  const backgrounds = last === null ? [] : dayBackgrounds([last], instruments);
  const lacking = backgrounds.flatMap((b) => {
    const what = [...(b.opening ? [] : ['opening']), ...(b.closing ? [] : ['closing'])].join(' and ');
    return what === '' ? [] : [b.label === null ? what : `${what} of ${b.label}`];
  });
  const control =
    last === null || log?.controlProbeId == null
      ? null
      : checkControlProbe(controlReadings(last), thresholds.controlGapHours, spanOf(last));
  const states = dryerStates(samples, last === null ? [] : [last]);
  const drawn = (last?.samples ?? []).filter((s) => s.kind !== 'blank');
  const undry = drawn.filter((s) => states.get(s.id) !== 'fresh').length;
  const isWeatherThere =
    log !== null && log.rainMm !== null && (log.rainMm === 0 || log.hoursSinceRain !== null);
  return [
    item(
      'backgrounds',
      'Opening and closing background',
      backgrounds.length > 0 && lacking.length === 0,
      backgrounds.length > 0 && lacking.length === 0
        ? 'both there'
        : `missing: ${lacking.length === 0 ? 'opening and closing' : lacking.join('; ')}`,
    ),
    item(
      'control',
      'Control probe at each half-day',
      control?.isComplete === true,
      control?.words ?? 'no control probe is named in the log of the day',
    ),
    item(
      'dryer',
      'Dryer seen fresh for every sample',
      drawn.length > 0 && undry === 0,
      drawn.length > 0 && undry === 0
        ? 'all'
        : `not known to be fresh for ${undry} of ${drawn.length} samples`,
    ),
    item(
      'day-log',
      'Weather and crew written down',
      isWeatherThere && (log?.crew ?? '').trim() !== '',
      isWeatherThere
        ? (log?.crew ?? '').trim() === ''
          ? 'missing: crew'
          : 'both there'
        : `missing: rain${(log?.crew ?? '').trim() === '' ? ' and crew' : ''}`,
    ),
  ];
}

function item(id: string, what: string, isDone: boolean, words: string): ChecklistItem {
  return { id, what, isDone, words };
}

function listed(labels: readonly string[]): string {
  const unique = [...new Set(labels)];
  if (unique.length === 0) return 'all';
  const more = unique.length > 8 ? ` and ${unique.length - 8} more` : '';
  return `missing: ${unique.slice(0, 8).join(', ')}${more}`;
}
