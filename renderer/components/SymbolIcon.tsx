import { memo } from 'react';
import { probeSymbol, type SymbolKind } from '../../core/contract/symbols.ts';

/** A probe symbol as on the map and the figure, inline with text. The words beside it carry its meaning. */
export const SymbolIcon = memo(function SymbolIcon({
  kind,
  sizePx = 15,
}: {
  kind: SymbolKind;
  sizePx?: number;
}) {
  const symbol = probeSymbol(kind);
  return (
    <svg className="symbol" width={sizePx} height={sizePx} viewBox="-1.2 -1.2 2.4 2.4" aria-hidden="true">
      {symbol.parts.map((part, index) => (
        <path
          // biome-ignore lint/suspicious/noArrayIndexKey: a symbol's parts never change places
          key={index}
          d={part.path.map(([letter, ...numbers]) => `${letter}${numbers.join(' ')}`).join('')}
          fill={part.fill === 'colour' ? symbol.colour : part.fill === 'paper' ? '#fffdf8' : 'none'}
          stroke={part.line > 0 ? symbol.colour : 'none'}
          strokeWidth={part.line}
          strokeLinecap="round"
          strokeLinejoin="round"
        />
      ))}
    </svg>
  );
});
