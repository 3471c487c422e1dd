/**
 * How a probe is drawn, once for window, figure and legend: shape first, colour second, so that a grey copy still
 * tells them apart. Unit box -1..1 with y down; the centre is the probe.
 */

export type SymbolKind =
  | 'valid'
  | 'suspect'
  | 'uncounted'
  | 'diluted'
  | 'water'
  | 'left-out'
  | 'no-value'
  | 'planned';

export type PathSegment =
  | readonly ['M', number, number]
  | readonly ['L', number, number]
  | readonly ['C', number, number, number, number, number, number]
  | readonly ['Z'];

export interface SymbolPart {
  readonly path: readonly PathSegment[];
  readonly fill: 'colour' | 'paper' | 'none';
  /** Line width in unit-box lengths; 0 where the part has no line. */
  readonly line: number;
}

export interface ProbeSymbol {
  readonly kind: SymbolKind;
  /** Wording of the legend. */
  readonly name: string;
  readonly colour: string;
  /** Later parts lie on earlier ones. */
  readonly parts: readonly SymbolPart[];
}

/** Handle length of a quarter circle drawn as a cubic, for a radius of 1. */
const QUARTER = 0.5522847498;

function circle(r: number): PathSegment[] {
  const h = r * QUARTER;
  return [
    ['M', r, 0],
    ['C', r, h, h, r, 0, r],
    ['C', -h, r, -r, h, -r, 0],
    ['C', -r, -h, -h, -r, 0, -r],
    ['C', h, -r, r, -h, r, 0],
    ['Z'],
  ];
}

function lowerHalf(r: number): PathSegment[] {
  const h = r * QUARTER;
  return [['M', r, 0], ['C', r, h, h, r, 0, r], ['C', -h, r, -r, h, -r, 0], ['Z']];
}

function polygon(...points: (readonly [number, number])[]): PathSegment[] {
  return [...points.map(([x, y], i): PathSegment => [i === 0 ? 'M' : 'L', x, y]), ['Z']];
}

function line(...points: (readonly [number, number])[]): PathSegment[] {
  return points.map(([x, y], i): PathSegment => [i === 0 ? 'M' : 'L', x, y]);
}

const SYMBOLS: Record<SymbolKind, ProbeSymbol> = {
  valid: {
    kind: 'valid',
    name: 'Valid value',
    colour: '#131d26',
    parts: [{ path: circle(0.82), fill: 'colour', line: 0 }],
  },
  suspect: {
    kind: 'suspect',
    name: 'Suspect: used, with a finding',
    colour: '#8a4f00',
    parts: [
      { path: circle(0.82), fill: 'paper', line: 0.26 },
      { path: lowerHalf(0.82), fill: 'colour', line: 0 },
    ],
  },
  uncounted: {
    kind: 'uncounted',
    name: 'Too shallow or too low for the scheme: not counted',
    colour: '#0b6048',
    parts: [
      { path: polygon([0, -1], [1, 0], [0, 1], [-1, 0]), fill: 'paper', line: 0.26 },
      { path: line([-0.5, 0], [0.5, 0]), fill: 'none', line: 0.3 },
    ],
  },
  diluted: {
    kind: 'diluted',
    name: 'Diluted: the ground holds at least this',
    colour: '#5a2d91',
    parts: [{ path: polygon([0, -1], [0.98, 0.74], [-0.98, 0.74]), fill: 'paper', line: 0.28 }],
  },
  water: {
    kind: 'water',
    name: 'Water or tight ground: no gas',
    colour: '#0a5c8f',
    parts: [
      {
        path: polygon([-0.84, -0.84], [0.84, -0.84], [0.84, 0.84], [-0.84, 0.84]),
        fill: 'paper',
        line: 0.26,
      },
      {
        path: [
          ['M', -0.84, 0.1],
          ['C', -0.56, -0.42, -0.28, -0.42, 0, 0.1],
          ['C', 0.28, 0.62, 0.56, 0.62, 0.84, 0.1],
        ],
        fill: 'none',
        line: 0.26,
      },
    ],
  },
  'left-out': {
    kind: 'left-out',
    name: 'Left out by a ruling or rule',
    colour: '#3d4852',
    parts: [
      { path: line([-0.78, -0.78], [0.78, 0.78]), fill: 'none', line: 0.32 },
      { path: line([-0.78, 0.78], [0.78, -0.78]), fill: 'none', line: 0.32 },
    ],
  },
  'no-value': {
    kind: 'no-value',
    name: 'Refused or no reading',
    colour: '#3d4852',
    parts: [
      { path: circle(0.82), fill: 'paper', line: 0.26 },
      { path: line([-0.56, 0.56], [0.56, -0.56]), fill: 'none', line: 0.26 },
    ],
  },
  planned: {
    kind: 'planned',
    name: 'Planned, not yet sampled',
    colour: '#3d4852',
    parts: [{ path: circle(0.5), fill: 'paper', line: 0.24 }],
  },
};

/** Corners of a box around the symbol of a probe that was added after the first results. */
export const ADDED_MARK: {
  readonly name: string;
  readonly colour: string;
  readonly path: readonly PathSegment[];
  readonly line: number;
} = {
  name: 'Added after the first results',
  colour: '#131d26',
  path: [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ].flatMap(([sx = 0, sy = 0]) =>
    line([1.45 * sx, 0.75 * sy], [1.45 * sx, 1.45 * sy], [0.75 * sx, 1.45 * sy]),
  ),
  line: 0.22,
};

/** Order of the legend. */
export const SYMBOL_KINDS = Object.keys(SYMBOLS) as readonly SymbolKind[];

export function probeSymbol(kind: SymbolKind): ProbeSymbol {
  return SYMBOLS[kind];
}
