import type { PositionM, ProjectView } from '../contract/model.ts';
import { xmlElement, xmlText } from '../xml-text.ts';
import { ADDED_WORD } from './geometry.ts';
import { degreesText, type ExportOptions, type LonLat, lonLatPlace } from './map-place.ts';
import { shortValue } from './value-text.ts';

export interface GpxOptions extends ExportOptions {
  /** Ids of probes in the order they are walked; then the file holds a route as well. */
  readonly route?: readonly string[];
  /** The way through them from the start and back; corners it turns at become points of the route too. */
  readonly walkM?: readonly PositionM[];
}

/**
 * Every probe as a waypoint (GPX 1.1), for a hand-held receiver. GPX has no metres: accuracy in the field is the
 * receiver's.
 * @throws AppError BAD_INPUT for a local grid without a tie, and where the datum operation is not to be had offline
 */
export function writeGpx(view: ProjectView, options: GpxOptions = {}): string {
  const place = lonLatPlace(view, 'GPX', options);
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const places = place.toLonLat(view.probes.map((probe) => probe.positionM));
  const point = (element: 'wpt' | 'rtept', index: number): string => {
    const probe = view.probes[index];
    const [longitude, latitude] = places[index] as LonLat;
    if (probe === undefined) return '';
    const mark = marks.get(probe.id);
    const value = shortValue(mark?.measured ?? null);
    const isNumber = mark?.measured !== undefined && mark.measured?.kind !== 'none';
    const told = value === null ? '' : `${value}${isNumber ? ' kBq/m3' : ''}`;
    const depth = probe.depthM === null ? '' : `depth ${probe.depthM} m`;
    const added = probe.added ? 'added after the first round' : '';
    const code = options.codes?.get(probe.id);
    return `<${element} lat="${degreesText(latitude)}" lon="${degreesText(longitude)}">\n${xmlElement('name', probe.label)}${xmlElement(
      'cmt',
      [probe.state, added, depth, told, code === undefined ? '' : `code ${code}`]
        .filter((text) => text !== '')
        .join(', '),
    )}${xmlElement('desc', probe.note)}${xmlElement('type', `probe ${probe.state}${probe.added ? ` ${ADDED_WORD}` : ''}`)}</${element}>\n`;
  };
  const indexOf = new Map(view.probes.map((probe, i) => [probe.id, i]));
  const stops = (options.route ?? []).flatMap((id) => indexOf.get(id) ?? []);
  const turn = (atM: PositionM): string => {
    const [[longitude, latitude] = [Number.NaN, Number.NaN]] = place.toLonLat([atM]);
    return `<rtept lat="${degreesText(latitude)}" lon="${degreesText(longitude)}">\n${xmlElement('name', 'Turn')}</rtept>\n`;
  };
  const points = routeStops(view, stops, options.walkM ?? []).map((stop) =>
    typeof stop === 'number' ? point('rtept', stop) : turn(stop),
  );
  const route = points.length === 0 ? '' : `<rte>\n${xmlElement('name', 'Walk')}${points.join('')}</rte>\n`;
  const invented = view.isDemo ? ' Invented data.' : '';
  return [
    '<?xml version="1.0" encoding="UTF-8"?>\n',
    '<gpx version="1.1" creator="Gasplat" xmlns="http://www.topografix.com/GPX/1/1">\n',
    `<metadata>\n${xmlElement('name', view.name)}<desc>${xmlText(
      `Probes from ${place.systemName}.${invented} ${place.datumOperation} Have buried services located and marked before any probe is driven.`,
    )}</desc>\n</metadata>\n`,
    ...view.probes.map((_, i) => point('wpt', i)),
    route,
    '</gpx>\n',
  ].join('');
}

/** Indices of the probes in the order of the walk, with the corners between them; the way from and to the start is left out. */
function routeStops(
  view: ProjectView,
  stops: readonly number[],
  walkM: readonly PositionM[],
): (number | PositionM)[] {
  const route: (number | PositionM)[] = [];
  let next = 0;
  for (const atM of walkM.slice(1, -1)) {
    const stop = stops[next];
    const at = stop === undefined ? undefined : view.probes[stop]?.positionM;
    if (stop !== undefined && at !== undefined && at[0] === atM[0] && at[1] === atM[1]) {
      route.push(stop);
      next++;
    } else if (next > 0 && next < stops.length) route.push(atM);
  }
  return next === stops.length ? route : [...stops];
}
