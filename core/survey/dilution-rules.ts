import type { Evidence, Sample } from '../contract/model.ts';
import { reachOf, USUAL_AIR_POROSITY } from '../soil/reach.ts';
import { dilution, evidence, type Finding, type RuleInput, round } from './finding.ts';
import { isDescribedTight, sampleDepthM, uncertaintyOf } from './sample-facts.ts';
import { sourceOf } from './thresholds.ts';

export function crewSaid({ sample }: RuleInput): Finding | null {
  if (!sample.saidFreshAir) return null;
  return dilution(
    'crew-said-fresh-air',
    'crew',
    3,
    'The crew wrote down that fresh air was drawn.',
    [evidence('fresh air noted', 'yes', null, '')],
    'Field sheet of this project',
  );
}

export function outsideGases({ sample, thresholds }: RuleInput): Finding | null {
  const { oxygenPct, carbonDioxidePct } = sample;
  const oxygen = oxygenPct !== null && oxygenPct >= thresholds.outsideOxygenPct;
  const carbonDioxide = carbonDioxidePct !== null && carbonDioxidePct <= thresholds.outsideCarbonDioxidePct;
  if (!oxygen && !carbonDioxide) return null;
  const found: Evidence[] = [];
  if (oxygen) found.push(evidence('oxygen', oxygenPct, thresholds.outsideOxygenPct, '%'));
  if (carbonDioxide)
    found.push(evidence('carbon dioxide', carbonDioxidePct, thresholds.outsideCarbonDioxidePct, '%'));
  // Airy sand can hold nearly outside oxygen; with carbon dioxide gone too, the gas is outside air.
  const contradicted = (oxygen && carbonDioxidePct !== null) !== (carbonDioxide && oxygenPct !== null);
  const points = oxygen && carbonDioxide ? 3 : 2;
  const words =
    oxygen && carbonDioxide
      ? `Oxygen (${oxygenPct} %) and carbon dioxide (${carbonDioxidePct} %) are both close to outside air.`
      : oxygen
        ? `Oxygen (${oxygenPct} %) is close to outside air (20.9 %).`
        : `Carbon dioxide (${carbonDioxidePct} %) is close to outside air (0.04 %).`;
  const doubt = contradicted && points === 2 ? ' The other gas does not say so.' : '';
  const key = oxygen ? 'outsideOxygenPct' : 'outsideCarbonDioxidePct';
  return dilution('close-to-outside-air', 'gas', points, words + doubt, found, sourceOf(key));
}

export function tooLittleRadon({ sample, thresholds }: RuleInput): Finding | null {
  const radon = sample.radonKBqPerM3 ?? sample.radonBelowKBqPerM3;
  if (sample.kind === 'blank' || radon === null) return null;
  const limit = thresholds.minimumValueKBqPerM3;
  const under = sample.radonKBqPerM3 === null ? radon <= limit : radon < limit;
  if (!under) return null;
  return dilution(
    'radon-under-exclusion-limit',
    'level',
    3,
    `Radon (${round(radon)} kBq/m3) is under ${limit} kBq/m3: ground gas hardly ever is; a leak or a blocked tip is likely.`,
    [evidence('radon', round(radon), limit, 'kBq/m3')],
    sourceOf('minimumValueKBqPerM3'),
  );
}

export function tooLittleSuction({ sample, probe, thresholds }: RuleInput): Finding | null {
  if (sample.suctionPa === null || sample.suctionPa >= thresholds.lowSuctionPa) return null;
  const described = isDescribedTight(probe);
  if (described === null || sample.kind === 'blank') return null;
  return dilution(
    'suction-too-low-for-soil',
    'suction',
    2,
    `Suction (${sample.suctionPa} Pa) is far too low for ground described as tight (${described}): air may have come down along the rod.`,
    [
      evidence('suction', sample.suctionPa, thresholds.lowSuctionPa, 'Pa'),
      evidence('described as', described, null, ''),
    ],
    sourceOf('lowSuctionPa'),
  );
}

/** The later, lower of two draws: a fall by a quarter and more than both uncertainties explain. */
export function fallingRepeat({ sample, siblings, thresholds }: RuleInput): Finding | null {
  if (sample.kind !== 'repeat' || sample.radonKBqPerM3 === null) return null;
  const at = siblings.findIndex((s) => s.id === sample.id);
  const earlier = siblings
    .slice(0, Math.max(at, 0))
    .filter((s) => s.kind !== 'blank' && s.radonKBqPerM3 !== null);
  const highest = earlier.reduce<Sample | null>(
    (best, s) => ((s.radonKBqPerM3 ?? 0) > (best?.radonKBqPerM3 ?? -1) ? s : best),
    null,
  );
  if (highest?.radonKBqPerM3 == null) return null;
  const before = highest.radonKBqPerM3;
  const fall = before - sample.radonKBqPerM3;
  const explained = 2 * Math.hypot(uncertaintyOf(highest), uncertaintyOf(sample));
  const limit = Math.max((thresholds.repeatFallPct / 100) * before, explained);
  if (fall <= limit) return null;
  return dilution(
    'falling-repeat',
    'repeat',
    2,
    `Repeat fell from ${round(before)} to ${round(sample.radonKBqPerM3)} kBq/m3: surface air may have been drawn as more gas was taken.`,
    [evidence('fall', round(fall), round(limit), 'kBq/m3')],
    sourceOf('repeatFallPct'),
  );
}

export function tracerFound({ sample, thresholds }: RuleInput): Finding | null {
  const { tracerPct, tracerShroudPct } = sample;
  if (tracerPct == null || tracerShroudPct == null || !(tracerShroudPct > 0)) return null;
  const leakPct = (100 * tracerPct) / tracerShroudPct;
  if (leakPct <= thresholds.tracerLeakPct) return null;
  const isMuch = leakPct >= thresholds.tracerDilutedPct;
  return dilution(
    'tracer-in-sample',
    'tracer',
    isMuch ? 3 : 2,
    `${round(leakPct)} % of the sample came from under the shroud (tracer ${tracerPct} of ${tracerShroudPct} %).`,
    [evidence('share from the shroud', round(leakPct), thresholds.tracerLeakPct, '%')],
    sourceOf(isMuch ? 'tracerDilutedPct' : 'tracerLeakPct'),
  );
}

/** All gas drawn at the hole up to and with this sample came from a sphere that may reach the surface. */
export function reachOverDepth(input: RuleInput): Finding | null {
  const { sample, probe, siblings, thresholds } = input;
  const depthM = sampleDepthM(sample, probe);
  if (sample.kind === 'blank' || depthM === null || !(depthM > 0)) return null;
  const upTo = siblings.slice(0, siblings.findIndex((s) => s.id === sample.id) + 1);
  const drawnMl = upTo.reduce((sum, s) => sum + (s.kind === 'blank' ? 0 : (s.pumpedMl ?? 0)), 0);
  if (!(drawnMl > 0)) return null;
  const given = sample.airPorosity;
  const porosity = given == null || !(given > 0 && given < 1) ? USUAL_AIR_POROSITY : { value: given, u: 0 };
  const radiusM = reachOf({ value: drawnMl * 1e-6, u: 0 }, porosity, depthM).radiusM.value;
  const limitM = thresholds.reachShareOfDepth * depthM;
  if (radiusM <= limitM) return null;
  return dilution(
    'reach-over-depth',
    'volume',
    1,
    `${round(drawnMl / 1000)} L drawn at this hole came from about ${round(radiusM)} m around the tip at ${round(depthM)} m (air-filled porosity ${porosity.value}): surface air may be in it.`,
    [evidence('reach', round(radiusM), round(limitM), 'm')],
    sourceOf('reachShareOfDepth'),
  );
}
