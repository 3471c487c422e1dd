import { basename } from 'node:path';
import type { OutlineRequests } from '../contract/outlines.ts';
import type { Input } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { lookAtGeometry } from '../exchange/look-geometry.ts';
import { readCourseText } from '../exchange/read-courses.ts';
import { readGeometry } from '../exchange/read-geometry.ts';
import { ringToFrame, ringToNative } from '../geo/frame.ts';
import { parallelSides, rectangleBySides } from '../geo/parallel.ts';
import { pointInPolygon } from '../geo/planar.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { readWhole } from './files.ts';
import { frameOf, gridTie, lotNative } from './frame-of.ts';
import type { HandlerTools } from './handler-tools.ts';
import { importGeometry, siblingOf } from './import-geometry.ts';
import { traverseOutline } from './traverse.ts';
import { readFootprint } from './view.ts';

/** Requests on outlines that are worked out or read from files. */
export function outlineHandlers({ current, change }: HandlerTools): Pick<Handlers, keyof OutlineRequests> {
  return {
    'traverse.compute': ({ text, options }) =>
      traverseOutline(frameOf(current()), readCourseText(text, options), options),
    'outline.parallel': (input) => parallel(current(), input),
    'outline.rectangle': (input) => rectangle(current(), input),
    'geometry.look': (input) => lookAt(current(), input),
    'geometry.import': ({ path, what, options }) => {
      const { view, result } = change((store) => importGeometry(store, path, what, options));
      return { view, ...result };
    },
  };
}

function outlineOf(store: ProjectStore, of: 'lot' | 'footprint') {
  const frame = frameOf(store);
  const lot = of === 'lot' ? lotNative(store) : null;
  const ring = of === 'lot' ? lot && ringToFrame(frame, lot) : (readFootprint(store, frame)?.ring ?? null);
  if (ring === null) throw new AppError('NOT_FOUND', `There is no ${of} yet to measure from.`, { field: of });
  return { frame, ring };
}

function parallel(store: ProjectStore, { of, sides, distanceM }: Input<'outline.parallel'>) {
  const { frame, ring } = outlineOf(store, of);
  const { shape, points } = parallelSides(ring, sides, distanceM);
  return { shape, points: ringToNative(frame, points) };
}

function rectangle(store: ProjectStore, input: Input<'outline.rectangle'>) {
  const { frame, ring: lot } = outlineOf(store, 'lot');
  const ring = rectangleBySides(lot, input);
  const out = ring.flatMap((corner, i) => (pointInPolygon(corner, [lot]) ? [] : [i + 1]));
  const notes =
    out.length === 0
      ? []
      : [`Corner${out.length === 1 ? '' : 's'} ${out.join(', ')} would lie outside the lot.`];
  return { ring: ringToNative(frame, ring), notes };
}

function lookAt(store: ProjectStore, { path, what, options }: Input<'geometry.look'>) {
  const frame = frameOf(store);
  const { crs, unit, layer } = options;
  const reading = readGeometry(readWhole(path), basename(path), frame.crs, {
    sibling: (extension) => siblingOf(path, extension),
    ...(crs === undefined ? {} : { crs }),
    ...(unit === undefined ? {} : { unit }),
    ...(layer === undefined ? {} : { layer }),
  });
  return {
    file: reading.file,
    ...lookAtGeometry(reading, what, frame, gridTie(store)),
    notes: reading.notes,
  };
}
