import { useMemo, useState } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import { bandColour } from '../../core/contract/ramp.ts';
import type { SurfaceResult } from '../../core/contract/results.ts';
import { probeSymbol, SYMBOL_KINDS } from '../../core/contract/symbols.ts';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatLevel, formatPercent, radonUnitLabel, type ShownRadonUnit } from '../format.ts';
import type { Computed, ShownField } from '../state/app-state.ts';
import { cellField, fieldColour } from './field.ts';

export interface LegendProps {
  readonly view: ProjectView;
  readonly surface: Computed<SurfaceResult> | null;
  readonly shown: ShownField;
  readonly unit: ShownRadonUnit;
}

interface Step {
  readonly colour: string;
  readonly text: string;
}

function legendSteps(levels: readonly string[], colour: (index: number, count: number) => string): Step[] {
  const count = levels.length + 1;
  return Array.from({ length: count }, (_, index) => ({
    colour: colour(index, count),
    text:
      index === 0
        ? `under ${levels[0] ?? ''}`
        : index === levels.length
          ? `${levels[index - 1]} and over`
          : `${levels[index - 1]} – ${levels[index]}`,
  })).reverse();
}

export function Legend({ view, surface, shown, unit }: LegendProps) {
  const [open, setOpen] = useState(true);
  const kinds = useMemo(() => {
    const present = new Set(view.marks.map((mark) => mark.symbol));
    return SYMBOL_KINDS.filter((kind) => present.has(kind));
  }, [view]);
  const result = surface?.result ?? null;
  const stale = surface !== null && surface.revision !== view.revision;

  let title = '';
  let steps: Step[] = [];
  if (result && shown === 'estimate') {
    title = `Radon in soil gas, ${radonUnitLabel(unit)}`;
    steps = legendSteps(
      result.levelsKBqPerM3.map((level) => formatLevel(level, unit)),
      bandColour,
    );
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
      title = `Chance above ${formatLevel(result.exceedance?.limitKBqPerM3 ?? 0, unit)} ${radonUnitLabel(unit)}`;
      steps = legendSteps((field?.levels ?? []).map(formatPercent), rgb);
    }
  }

  return (
    <aside className="legend" aria-label="Legend">
      <button type="button" className="legend-toggle" aria-expanded={open} onClick={() => setOpen(!open)}>
        Legend
      </button>
      {open ? (
        <>
          {steps.length > 0 ? (
            <>
              <p className="legend-title">{title}</p>
              <ul className="legend-steps">
                {steps.map((step) => (
                  <li key={step.text}>
                    <svg width="22" height="12" aria-hidden="true">
                      <rect width="22" height="12" fill={step.colour} />
                    </svg>
                    {step.text}
                  </li>
                ))}
              </ul>
              {stale ? <p className="legend-stale">Surface is out of date</p> : null}
            </>
          ) : null}
          {kinds.length > 0 ? (
            <ul className="legend-symbols">
              {kinds.map((kind) => (
                <li key={kind}>
                  <SymbolIcon kind={kind} />
                  {probeSymbol(kind).name}
                </li>
              ))}
            </ul>
          ) : null}
          <ul className="legend-symbols">
            <li>
              <svg width="22" height="10" aria-hidden="true">
                <path className="legend-lot" d="M0 5H22" />
              </svg>
              Lot line
            </li>
            {view.footprint ? (
              <li>
                <svg width="22" height="10" aria-hidden="true">
                  <path className="legend-footprint" d="M0 5H22" />
                </svg>
                Footprint
              </li>
            ) : null}
            {view.keepOuts.length > 0 ? (
              <li>
                <svg width="22" height="10" aria-hidden="true">
                  <path className="legend-keep-out" d="M0 5H22" />
                </svg>
                Keep-out
              </li>
            ) : null}
          </ul>
        </>
      ) : null}
    </aside>
  );
}
