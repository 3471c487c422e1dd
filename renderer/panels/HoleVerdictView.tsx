import type { HoleAdvice, HoleJudgement, HolePrediction } from '../../core/contract/quality.ts';
import {
  capitalise,
  formatPercent,
  formatRadon,
  formatWithUncertainty,
  plural,
  prettyUnits,
  radonUnitLabel,
  type ShownRadonUnit,
} from '../format.ts';

const ADVICE_TAGS: Record<HoleAdvice, string> = {
  keep: 'tag-ruled',
  'no value yet': '',
  'say water or tight': 'tag-suspect',
  'draw again here': 'tag-suspect',
  'drive again 1.5 m off': 'tag-strong',
};

/** No chance from counts is ever none or all. */
function chanceText(chance: number): string {
  if (chance > 0.999) return 'over 99.9 %';
  return chance < 0.001 ? 'under 0.1 %' : formatPercent(chance);
}

function predictionText(prediction: HolePrediction, unit: ShownRadonUnit): string {
  const { predictedKBqPerM3, uNowKBqPerM3, finalRangeKBqPerM3, intervalsCounted, intervalsToCome } =
    prediction;
  const label = radonUnitLabel(unit);
  const now = `${formatWithUncertainty(predictedKBqPerM3, uNowKBqPerM3, unit)} ${label} from ${plural(intervalsCounted, 'count')} (k = 2, without calibration)`;
  if (intervalsToCome === 0) return `${now}; nothing more is to come`;
  const [low, high] = finalRangeKBqPerM3;
  return `${now}; with ${intervalsToCome} more it will lie from ${formatRadon(Math.max(0, low), unit)} to ${formatRadon(high, unit)} ${label} (95 %)`;
}

export interface HoleVerdictViewProps {
  readonly judgement: HoleJudgement;
  readonly unit: ShownRadonUnit;
  readonly feet: boolean;
}

/** What to do at a hole, with what speaks for it. */
export function HoleVerdictView({ judgement, unit, feet }: HoleVerdictViewProps) {
  // Five feet is how the guidance itself gives the distance.
  const inUnits = (text: string) =>
    prettyUnits(feet ? text.replaceAll('1.5 m off', '5 ft (1.5 m) off') : text);
  const { prediction, wait, flags } = judgement;
  return (
    <section className="hole-verdict stack" aria-label={`Verdict at ${judgement.probe}`}>
      <p>
        <span className={`tag tag-first ${ADVICE_TAGS[judgement.advice]}`}>{inUnits(judgement.advice)}</span>
        <strong>{judgement.probe}</strong>. {inUnits(judgement.words)}
      </p>
      <dl className="facts">
        <div>
          <dt>Leak check</dt>
          <dd>{judgement.leakWords}</dd>
        </div>
        <div>
          <dt>Value expected</dt>
          <dd>
            {prediction
              ? predictionText(prediction, unit)
              : (judgement.predictionProblem ?? 'Type or import counts to see what they will come to.')}
          </dd>
        </div>
        {prediction?.chances.map((chance) => (
          <div key={chance.name}>
            <dt>
              Over {formatRadon(chance.limitKBqPerM3, unit)} {radonUnitLabel(unit)}
            </dt>
            <dd>
              {chanceText(chance.chance)} likely for this gas ({chance.name}); one hole is no class
            </dd>
          </div>
        ))}
        <div>
          <dt>Before the next fill</dt>
          <dd>{prettyUnits(wait ? wait.words : (judgement.waitProblem ?? ''))}</dd>
        </div>
      </dl>
      {flags.length > 0 ? (
        <ul className="flags" aria-label="Findings at this hole">
          {flags.map((flag) => (
            <li key={`${flag.rule} ${flag.message}`} className={`flag flag-${flag.weight}`}>
              <p>
                <span className={`tag tag-${flag.weight}`}>{flag.weight}</span> {prettyUnits(flag.message)}
              </p>
              <p className="source">Source: {prettyUnits(flag.source)}</p>
            </li>
          ))}
        </ul>
      ) : null}
      {prediction && prediction.notes.length > 0 ? (
        <ul className="reasons" aria-label="Notes on the counts">
          {prediction.notes.map((note) => (
            <li key={note}>{prettyUnits(capitalise(note))}</li>
          ))}
        </ul>
      ) : null}
    </section>
  );
}
