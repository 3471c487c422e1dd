import type { StyleSpecification } from 'maplibre-gl';
import { ACCENT, INK, MUTED, PAPER_SHEET } from './colours.ts';
import { DRAWING_LAYERS } from './drawing-style.ts';
import { FONT } from './font.ts';
import { collect, type LayerData } from './layers.ts';
import { PROPOSAL_LAYERS } from './proposal-style.ts';

/** Layer under which a cell-by-cell field is slid in. */
export const FIELD_GOES_BELOW = 'outside';
/** Layer under which pictures of site plans lie: everything that was measured is above them. */
export const PICTURES_GO_BELOW = 'bands';

const SOURCES: readonly (keyof LayerData)[] = [
  'bands',
  'isolines',
  'outside',
  'weakGround',
  'keepOuts',
  'lot',
  'footprint',
  'proposals',
  'probes',
  'drawing',
];

/** Offline style: no tiles, no sprite, no glyph files; letters are drawn from the bundled font. */
export function mapStyle(): StyleSpecification {
  return {
    version: 8,
    sources: Object.fromEntries(
      SOURCES.map((name) => [
        name,
        { type: 'geojson' as const, data: collect([]), maxzoom: 24, tolerance: 0, buffer: 64 },
      ]),
    ),
    layers: [
      { id: 'paper', type: 'background', paint: { 'background-color': PAPER_SHEET } },
      {
        id: 'bands',
        type: 'fill',
        source: 'bands',
        paint: { 'fill-color': ['get', 'colour'], 'fill-antialias': false },
      },
      { id: 'outside', type: 'fill', source: 'outside', paint: { 'fill-color': PAPER_SHEET } },
      {
        id: 'isolines',
        type: 'line',
        source: 'isolines',
        layout: { 'line-join': 'round' },
        paint: {
          'line-color': INK,
          'line-width': ['case', ['get', 'limit'], 2, 0.8],
          'line-opacity': ['case', ['get', 'limit'], 1, 0.72],
        },
      },
      {
        id: 'weak-ground-veil',
        type: 'fill',
        source: 'weakGround',
        filter: ['get', 'veil'],
        paint: { 'fill-color': PAPER_SHEET, 'fill-opacity': 0.55, 'fill-antialias': false },
      },
      {
        id: 'weak-ground-hatch',
        type: 'fill',
        source: 'weakGround',
        paint: { 'fill-pattern': 'back-hatch' },
      },
      {
        id: 'keep-out-strip',
        type: 'fill',
        source: 'keepOuts',
        filter: ['==', ['get', 'part'], 'strip'],
        paint: { 'fill-color': MUTED, 'fill-opacity': 0.18 },
      },
      {
        id: 'keep-out-strip-edge',
        type: 'line',
        source: 'keepOuts',
        filter: ['==', ['get', 'part'], 'strip'],
        paint: { 'line-color': MUTED, 'line-width': 0.9 },
      },
      {
        id: 'keep-out-fill',
        type: 'fill',
        source: 'keepOuts',
        filter: ['all', ['==', ['get', 'part'], 'outline'], ['==', ['geometry-type'], 'Polygon']],
        paint: { 'fill-pattern': 'hatch' },
      },
      {
        id: 'keep-out-line',
        type: 'line',
        source: 'keepOuts',
        filter: ['==', ['get', 'part'], 'outline'],
        paint: { 'line-color': MUTED, 'line-width': 1.4, 'line-dasharray': [3, 2] },
      },
      {
        id: 'footprint-fill',
        type: 'fill',
        source: 'footprint',
        paint: { 'fill-color': ACCENT, 'fill-opacity': 0.08 },
      },
      {
        id: 'footprint-line',
        type: 'line',
        source: 'footprint',
        layout: { 'line-join': 'miter' },
        paint: { 'line-color': ACCENT, 'line-width': 2.2 },
      },
      {
        id: 'lot-line',
        type: 'line',
        source: 'lot',
        filter: ['==', ['geometry-type'], 'Polygon'],
        layout: { 'line-join': 'miter' },
        paint: { 'line-color': INK, 'line-width': 1.8, 'line-dasharray': [9, 2.2, 1.6, 2.2, 1.6, 2.2] },
      },
      {
        id: 'lot-corners',
        type: 'circle',
        source: 'lot',
        filter: ['==', ['geometry-type'], 'Point'],
        paint: {
          'circle-radius': 3,
          'circle-color': PAPER_SHEET,
          'circle-stroke-color': INK,
          'circle-stroke-width': 1.4,
        },
      },
      {
        id: 'isoline-labels',
        type: 'symbol',
        source: 'isolines',
        filter: ['!', ['get', 'limit']],
        layout: {
          'symbol-placement': 'line',
          'symbol-spacing': 260,
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 11.5,
          'text-padding': 3,
          'text-max-angle': 28,
        },
        paint: { 'text-color': INK, 'text-halo-color': 'rgba(255, 253, 248, 0.88)', 'text-halo-width': 1.6 },
      },
      {
        id: 'keep-out-label',
        type: 'symbol',
        source: 'keepOuts',
        filter: ['==', ['get', 'part'], 'label'],
        layout: {
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 12,
          'text-variable-anchor': ['left', 'right', 'bottom', 'top'],
          'text-radial-offset': 0.7,
          'text-justify': 'auto',
          'text-max-width': 30,
        },
        paint: { 'text-color': INK, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 1.6 },
      },
      {
        id: 'footprint-label',
        type: 'symbol',
        source: 'footprint',
        layout: {
          'symbol-placement': 'line',
          'symbol-spacing': 10_000,
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 12,
          'text-offset': [0, 0.9],
        },
        paint: { 'text-color': ACCENT, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 1.6 },
      },
      ...PROPOSAL_LAYERS,
      {
        id: 'selection',
        type: 'circle',
        source: 'probes',
        filter: ['==', ['get', 'probeId'], ''],
        paint: {
          'circle-radius': 10.5,
          'circle-color': 'rgba(255, 253, 248, 0.55)',
          'circle-stroke-color': ACCENT,
          'circle-stroke-width': 2,
        },
      },
      // Later layers are placed first: a label gives way to every probe, not only to its own.
      {
        id: 'probe-labels',
        type: 'symbol',
        source: 'probes',
        layout: {
          // Where room is short, what was left out or diluted keeps its label.
          'symbol-sort-key': ['match', ['get', 'symbol'], 'left-out', 0, ['diluted', 'suspect'], 1, 2],
          'text-field': [
            'case',
            ['==', ['get', 'value'], ''],
            ['get', 'label'],
            ['concat', ['get', 'label'], '\n', ['get', 'value']],
          ],
          'text-font': FONT,
          'text-size': 11.5,
          'text-line-height': 1.05,
          'text-variable-anchor': [
            'left',
            'right',
            'top',
            'bottom',
            'bottom-left',
            'top-left',
            'bottom-right',
            'top-right',
          ],
          'text-radial-offset': 0.9,
          'text-justify': 'auto',
          'text-padding': 0,
        },
        paint: { 'text-color': INK, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 1.9 },
      },
      {
        id: 'probes',
        type: 'symbol',
        source: 'probes',
        layout: {
          'icon-image': ['concat', 'probe-', ['get', 'symbol']],
          'icon-allow-overlap': true,
          'icon-ignore-placement': true,
        },
      },
      {
        id: 'added-probes',
        type: 'symbol',
        source: 'probes',
        filter: ['==', ['get', 'added'], true],
        layout: { 'icon-image': 'added', 'icon-allow-overlap': true, 'icon-ignore-placement': true },
      },
      {
        id: 'probe-bodies',
        type: 'symbol',
        source: 'probes',
        layout: { 'icon-image': 'blocker', 'icon-allow-overlap': true, 'icon-padding': 0 },
      },
      {
        id: 'limit-labels',
        type: 'symbol',
        source: 'isolines',
        filter: ['get', 'limit'],
        layout: {
          'symbol-placement': 'line',
          'symbol-spacing': 260,
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 12.5,
          // The number of a class limit gives way to nothing.
          'text-allow-overlap': true,
          'text-max-angle': 28,
        },
        paint: { 'text-color': INK, 'text-halo-color': 'rgba(255, 253, 248, 0.88)', 'text-halo-width': 1.6 },
      },
      {
        id: 'placement-label',
        type: 'symbol',
        source: 'proposals',
        filter: ['in', ['get', 'part'], ['literal', ['placement', 'kept']]],
        layout: {
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 15,
          'text-allow-overlap': true,
        },
        paint: { 'text-color': ACCENT, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 2 },
      },
      ...DRAWING_LAYERS,
    ],
  };
}
