import { memo, useMemo, useState } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import { bandColour } from '../../core/contract/ramp.ts';
import type { SurfaceResult } from '../../core/contract/results.ts';
import { probeSymbol, SYMBOL_KINDS } from '../../core/contract/symbols.ts';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatLevel, radonUnitLabel, type ShownRadonUnit } from '../format.ts';
import type { Computed, ShownField } from '../state/app-state.ts';
import { resultBasis } from '../state/basis.ts';
import { cellField, fieldColour } from './field.ts';

export interface LegendProps {
  readonly view: ProjectView;
  readonly surface: Computed<SurfaceResult> | null;
  readonly shown: ShownField;
  readonly unit: ShownRadonUnit;
}

interface Step {
  readonly colour: string;
  /** Bounds as text; empty where the step is open to that side. */
  readonly from: string;
  readonly to: string;
}

function legendSteps(levels: readonly string[], colour: (index: number, count: number) => string): Step[] {
  const count = levels.length + 1;
  return Array.from({ length: count }, (_, index) => ({
    colour: colour(index, count),
    from: levels[index - 1] ?? '',
    to: levels[index] ?? '',
  }));
}

function stepName({ from, to }: Step): string {
  if (from === '') return `under ${to}`;
  return to === '' ? `${from} and over` : `${from} to ${to}`;
}

export const Legend = memo(function Legend({ view, surface, shown, unit }: LegendProps) {
  const [open, setOpen] = useState(true);
  const kinds = useMemo(() => {
    const present = new Set(view.marks.map((mark) => mark.symbol));
    return SYMBOL_KINDS.filter((kind) => present.has(kind));
  }, [view]);
  const result = surface?.result ?? null;
  const stale = surface !== null && surface.basis !== resultBasis(view);

  let title = '';
  let steps: Step[] = [];
  if (result && shown === 'estimate') {
    title = `Radon in soil gas, ${radonUnitLabel(unit)}`;
    // Ground under 0 does not exist: a lowest level of 0 has nothing below it.
    const underZero = (result.levelsKBqPerM3[0] ?? 1) <= 0 ? 1 : 0;
    steps = legendSteps(
      result.levelsKBqPerM3.map((level) => formatLevel(level, unit)),
      bandColour,
    ).slice(underZero);
  } else if (result && (shown === 'error' || shown === 'probability')) {
    const field = cellField(result, shown);
    const rgb = (index: number, count: number) => `rgb(${fieldColour(index, count).join(' ')})`;
    if (shown === 'error') {
      title = `Standard error, ${radonUnitLabel(unit)}`;
      steps = legendSteps(
        (field?.levels ?? []).map((level) => formatLevel(level, unit)),
        rgb,
      );
    } else {
      title = `Chance above ${formatLevel(result.exceedance?.limitKBqPerM3 ?? 0, unit)} ${radonUnitLabel(unit)}, %`;
      steps = legendSteps(
        (field?.levels ?? []).map((level) => String(level * 100)),
        rgb,
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
                    <span className="legend-join" aria-hidden="true">
                      {step.to}
                    </span>
                    <span className="visually-hidden">{stepName(step)}</span>
                  </li>
                ))}
              </ul>
            </div>
          ) : null}
          <ul className="legend-symbols">
            {kinds.map((kind) => (
              <li key={kind}>
                <SymbolIcon kind={kind} />
                {probeSymbol(kind).name}
              </li>
            ))}
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
          </ul>
        </div>
      ) : null}
    </aside>
  );
});
