import type { LayerSpecification } from 'maplibre-gl';
import { ACCENT, PAPER_SHEET } from './colours.ts';
import { FONT } from './font.ts';

/** What a hand draws, turns or snaps to: above everything else. */
export const DRAWING_LAYERS: LayerSpecification[] = [
  {
    id: 'turn-line',
    type: 'line',
    source: 'proposals',
    filter: ['==', ['get', 'part'], 'turn'],
    paint: { 'line-color': ACCENT, 'line-width': 1, 'line-dasharray': [2, 2] },
  },
  {
    id: 'turn-handle',
    type: 'circle',
    source: 'proposals',
    filter: ['==', ['get', 'part'], 'turn-handle'],
    paint: {
      'circle-radius': 6,
      'circle-color': PAPER_SHEET,
      'circle-stroke-color': ACCENT,
      'circle-stroke-width': 2.2,
    },
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
    filter: ['==', ['get', 'part'], 'corner'],
    paint: {
      'circle-radius': 4,
      'circle-color': PAPER_SHEET,
      'circle-stroke-color': ACCENT,
      'circle-stroke-width': 2,
    },
  },
  {
    id: 'snap-mark',
    type: 'circle',
    source: 'drawing',
    filter: ['==', ['get', 'part'], 'snap'],
    paint: {
      'circle-radius': 8,
      'circle-color': 'rgba(255, 253, 248, 0.35)',
      'circle-stroke-color': ACCENT,
      'circle-stroke-width': 2.5,
    },
  },
  {
    id: 'snap-label',
    type: 'symbol',
    source: 'drawing',
    filter: ['==', ['get', 'part'], 'snap'],
    layout: {
      'text-field': ['get', 'label'],
      'text-font': FONT,
      'text-size': 12,
      'text-anchor': 'left',
      'text-offset': [1.1, -0.9],
      'text-allow-overlap': true,
    },
    paint: { 'text-color': ACCENT, 'text-halo-color': PAPER_SHEET, 'text-halo-width': 2 },
  },
];
