import type { StyleSpecification } from 'maplibre-gl';
import { ACCENT, INK, MUTED, PAPER_SHEET } from './colours.ts';
import { collect, type LayerData } from './layers.ts';

/** Layer under which a cell-by-cell field is slid in. */
export const FIELD_GOES_BELOW = 'outside';

const FONT = ['Plat Sans'];

const SOURCES: readonly (keyof LayerData)[] = [
  'bands',
  'isolines',
  'outside',
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
        paint: { 'line-color': INK, 'line-width': 0.8, 'line-opacity': 0.72 },
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
        layout: {
          'symbol-placement': 'line',
          'symbol-spacing': 260,
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 11.5,
          'text-padding': 6,
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
        },
        paint: { 'text-color': MUTED, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 1.6 },
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
      {
        id: 'placement-fill',
        type: 'fill',
        source: 'proposals',
        filter: ['any', ['==', ['get', 'part'], 'moved'], ['==', ['get', 'chosen'], true]],
        paint: { 'fill-color': ACCENT, 'fill-opacity': 0.14 },
      },
      {
        id: 'placement-line',
        type: 'line',
        source: 'proposals',
        filter: ['==', ['get', 'part'], 'placement'],
        paint: { 'line-color': ACCENT, 'line-width': ['case', ['get', 'chosen'], 2.4, 1.1] },
      },
      {
        id: 'moved-line',
        type: 'line',
        source: 'proposals',
        filter: ['==', ['get', 'part'], 'moved'],
        paint: { 'line-color': ACCENT, 'line-width': 2.2, 'line-dasharray': [3, 1.5] },
      },
      {
        id: 'placement-label',
        type: 'symbol',
        source: 'proposals',
        filter: ['==', ['get', 'part'], 'placement'],
        layout: {
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 15,
          'text-allow-overlap': true,
        },
        paint: { 'text-color': ACCENT, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 2 },
      },
      {
        id: 'walk',
        type: 'line',
        source: 'proposals',
        filter: ['==', ['get', 'part'], 'walk'],
        layout: { 'line-join': 'round' },
        paint: { 'line-color': ACCENT, 'line-width': 1.2, 'line-dasharray': [1.5, 2.5] },
      },
      {
        id: 'proposed-probes',
        type: 'circle',
        source: 'proposals',
        filter: ['==', ['geometry-type'], 'Point'],
        paint: {
          'circle-radius': ['case', ['==', ['get', 'part'], 'next'], 6.5, 4.5],
          'circle-color': ['case', ['==', ['get', 'part'], 'next'], '#e3efec', PAPER_SHEET],
          'circle-stroke-color': ACCENT,
          'circle-stroke-width': 2,
        },
      },
      {
        id: 'proposed-labels',
        type: 'symbol',
        source: 'proposals',
        filter: ['==', ['geometry-type'], 'Point'],
        layout: {
          'text-field': ['get', 'label'],
          'text-font': FONT,
          'text-size': 11.5,
          'text-variable-anchor': ['left', 'right', 'top', 'bottom'],
          'text-radial-offset': 0.75,
          'text-justify': 'auto',
        },
        paint: { 'text-color': ACCENT, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 1.7 },
      },
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
          'text-field': [
            'case',
            ['==', ['get', 'value'], ''],
            ['get', 'label'],
            ['concat', ['get', 'label'], '\n', ['get', 'value']],
          ],
          'text-font': FONT,
          'text-size': 11.5,
          'text-line-height': 1.05,
          'text-variable-anchor': ['left', 'right', 'top', 'bottom'],
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
        id: 'probe-bodies',
        type: 'symbol',
        source: 'probes',
        layout: { 'icon-image': 'blocker', 'icon-allow-overlap': true, 'icon-padding': 0 },
      },
      {
        id: 'drawing-fill',
        type: 'fill',
        source: 'drawing',
        filter: ['==', ['geometry-type'], 'Polygon'],
        paint: { 'fill-color': ACCENT, 'fill-opacity': 0.1 },
      },
      {
        id: 'drawing-line',
        type: 'line',
        source: 'drawing',
        filter: ['!=', ['geometry-type'], 'Point'],
        paint: { 'line-color': ACCENT, 'line-width': 1.6 },
      },
      {
        id: 'drawing-corners',
        type: 'circle',
        source: 'drawing',
        filter: ['==', ['geometry-type'], 'Point'],
        paint: {
          'circle-radius': 4,
          'circle-color': PAPER_SHEET,
          'circle-stroke-color': ACCENT,
          'circle-stroke-width': 2,
        },
      },
    ],
  };
}
