import type { LayerSpecification } from 'maplibre-gl';
import { ACCENT, PAPER_SHEET } from './colours.ts';
import { FONT } from './font.ts';

/** Placements, walks and probes proposed: above the surface, under the probes that are there. */
export const PROPOSAL_LAYERS: LayerSpecification[] = [
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
    id: 'kept-line',
    type: 'line',
    source: 'proposals',
    filter: ['==', ['get', 'part'], 'kept'],
    paint: { 'line-color': ACCENT, 'line-width': 1.2, 'line-opacity': 0.75 },
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
      'circle-color': ['match', ['get', 'part'], 'next', '#e3efec', 'walk-start', ACCENT, PAPER_SHEET],
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
];
