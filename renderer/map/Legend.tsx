import type { FeatureCollection } from 'geojson';
import { memo, useMemo, useState } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import { bandColour } from '../../core/contract/ramp.ts';
import type { ShownSurface } from '../../core/contract/results.ts';
import { ADDED_MARK, probeSymbol, SYMBOL_KINDS } from '../../core/contract/symbols.ts';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatLevel, radonUnitLabel, type ShownRadonUnit, trimNumber } from '../format.ts';
import type { AppState, Computed, ShownField } from '../state/app-state.ts';
import { sitingBasis, surfaceBasis } from '../state/basis.ts';
import { cellField, fieldColour } from './field.ts';

export interface LegendProps {
  readonly view: ProjectView;
  readonly surface: Computed<ShownSurface> | null;
  readonly site: AppState['site'];
  readonly shown: ShownField;
  readonly unit: ShownRadonUnit;
  readonly proposals: FeatureCollection;
}

interface Step {
  readonly colour: string;
  /** What of the scheme begins where the step ends. */
  readonly begins?: string;
  /** Bounds as text; empty where the step is open to that side. */
  readonly from: string;
  readonly to: string;
}

/** @param begins - what of the scheme begins at the level of that place */
function legendSteps(
  levels: readonly string[],
  colour: (index: number, count: number) => string,
  begins: (index: number) => string | undefined = () => undefined,
): Step[] {
  const count = levels.length + 1;
  return Array.from({ length: count }, (_, index) => {
    const name = begins(index);
    return {
      colour: colour(index, count),
      from: levels[index - 1] ?? '',
      to: levels[index] ?? '',
      ...(name === undefined ? {} : { begins: name }),
    };
  });
}

function fieldCss(index: number, count: number): string {
  return `rgb(${fieldColour(index, count).join(' ')})`;
}

function stepName({ from, to }: Step): string {
  if (from === '') return `under ${to}`;
  return to === '' ? `${from} and over` : `${from} to ${to}`;
}

/** Line samples of what a step proposes, by the `part` of its features. */
const PROPOSALS: readonly (readonly [part: string, className: string, name: string])[] = [
  ['plan', 'legend-proposed', 'Proposed probe, not yet planned'],
  ['next', 'legend-next', 'Next probe proposed'],
  ['walk', 'legend-walk', 'Walk'],
  ['placement', 'legend-placement', 'Placement, by rank'],
  ['kept', 'legend-kept', 'Kept placement, not chosen'],
  ['moved', 'legend-moved', 'Footprint moved, not yet kept'],
  ['turn-handle', 'legend-handle', 'Handle: drag it to turn the footprint'],
];

export const Legend = memo(function Legend({ view, surface, site, shown, unit, proposals }: LegendProps) {
  const [open, setOpen] = useState(true);
  const kinds = useMemo(() => {
    const present = new Set(view.marks.map((mark) => mark.symbol));
    return SYMBOL_KINDS.filter((kind) => present.has(kind));
  }, [view]);
  const parts = new Set(proposals.features.map((feature): unknown => feature.properties?.['part']));
  const result = surface?.result ?? null;
  const stale =
    shown === 'suitability'
      ? site !== null && site.basis !== sitingBasis(view)
      : surface !== null && surface.basis !== surfaceBasis(view);

  let title = '';
  let steps: Step[] = [];
  if (site && shown === 'suitability') {
    const isChance = site.request.objective === 'lowest-probability';
    title = isChance
      ? 'Best placement with its middle here: chance above the limit, %'
      : `Best placement with its middle here: estimate, ${radonUnitLabel(unit)}`;
    steps = legendSteps(
      (cellField(null, site, shown, unit)?.levels ?? []).map((level) =>
        isChance ? trimNumber(level * 100) : formatLevel(level, unit),
      ),
      fieldCss,
    );
  } else if (result && shown === 'estimate') {
    title = `Radon in soil gas, ${radonUnitLabel(unit)}`;
    // Ground under 0 does not exist: a lowest level of 0 has nothing below it.
    const underZero = (result.levelsKBqPerM3[0] ?? 1) <= 0 ? 1 : 0;
    steps = legendSteps(
      result.levelsKBqPerM3.map((level) => formatLevel(level, unit)),
      bandColour,
      (index) =>
        result.limits.find(({ valueKBqPerM3 }) => valueKBqPerM3 === result.levelsKBqPerM3[index])?.name,
    ).slice(underZero);
  } else if (result && (shown === 'error' || shown === 'probability')) {
    const field = cellField(result, null, shown, unit);
    if (shown === 'error') {
      title = `Standard error, ${radonUnitLabel(unit)}`;
      steps = legendSteps(
        (field?.levels ?? []).map((level) => formatLevel(level, unit)),
        fieldCss,
      );
    } else {
      title = `Chance above ${formatLevel(result.exceedance?.limitKBqPerM3 ?? 0, unit)} ${radonUnitLabel(unit)}, %`;
      steps = legendSteps(
        (field?.levels ?? []).map((level) => String(level * 100)),
        fieldCss,
      );
    }
  }

  return (
    <aside className="legend" aria-label="Legend">
      <button type="button" className="legend-toggle" aria-expanded={open} onClick={() => setOpen(!open)}>
        Legend
      </button>
      {open ? (
        <div className="legend-body">
          {steps.length > 0 ? (
            <div>
              <p className="legend-title">
                {title}
                {stale ? <strong className="legend-stale"> out of date</strong> : null}
              </p>
              <ul className="legend-ramp">
                {steps.map((step) => (
                  <li key={step.from}>
                    <svg width="100%" height="13" aria-hidden="true">
                      <rect width="100%" height="13" fill={step.colour} />
                    </svg>
                    <span
                      className={step.begins ? 'legend-join legend-limit' : 'legend-join'}
                      aria-hidden="true"
                    >
                      {step.to}
                    </span>
                    <span className="visually-hidden">{stepName(step)}</span>
                  </li>
                ))}
              </ul>
              {steps.some((step) => step.begins) ? (
                <p className="legend-limits">
                  {steps
                    .flatMap((step) => (step.begins ? [`${step.begins} from ${step.to}`] : []))
                    .join(', ')}
                </p>
              ) : null}
            </div>
          ) : null}
          <ul className="legend-symbols">
            {kinds.map((kind) => (
              <li key={kind}>
                <SymbolIcon kind={kind} />
                {probeSymbol(kind).name}
              </li>
            ))}
            {view.probes.some((probe) => probe.added) ? (
              <li>
                <svg width="20" height="20" viewBox="-1.8 -1.8 3.6 3.6" aria-hidden="true">
                  <path
                    d={ADDED_MARK.path.map((segment) => segment.join(' ')).join(' ')}
                    fill="none"
                    stroke={ADDED_MARK.colour}
                    strokeWidth={ADDED_MARK.line}
                  />
                </svg>
                {ADDED_MARK.name}
              </li>
            ) : null}
            {view.lot ? (
              <li>
                <svg width="24" height="10" aria-hidden="true">
                  <path className="legend-lot" d="M0 5H24" />
                </svg>
                Lot line
              </li>
            ) : null}
            {view.footprint ? (
              <li>
                <svg width="24" height="10" aria-hidden="true">
                  <path className="legend-footprint" d="M0 5H24" />
                </svg>
                Footprint
              </li>
            ) : null}
            {view.keepOuts.length > 0 ? (
              <li>
                <svg width="24" height="12" aria-hidden="true">
                  <path className="legend-strip" d="M0 6H24" />
                  <path className="legend-keep-out" d="M0 6H24" />
                </svg>
                Keep-out with its strip: no probe
              </li>
            ) : null}
            {result?.weakGround && (shown === 'estimate' || shown === 'probability') ? (
              <li title={result.weakGround.statement}>
                <svg width="24" height="12" aria-hidden="true">
                  <rect className="legend-weak" x="0.5" y="0.5" width="23" height="11" />
                  <path className="legend-weak-hatch" d="M2 1L12 11M9 1L19 11M16 1L23 8M0 6L5 11" />
                </svg>
                {shown === 'estimate' ? 'Weak ground, faded' : 'Weak ground'}: little is known here
              </li>
            ) : null}
            {PROPOSALS.filter(([part]) => parts.has(part)).map(([part, className, name]) => (
              <li key={part}>
                <svg width="24" height="12" aria-hidden="true">
                  {part === 'plan' || part === 'next' || part === 'turn-handle' ? (
                    <circle className={className} cx="12" cy="6" r="4.4" />
                  ) : (
                    <path className={className} d="M0 6H24" />
                  )}
                </svg>
                {name}
              </li>
            ))}
          </ul>
        </div>
      ) : null}
    </aside>
  );
});
