import { type GeoJSONSource, type MapMouseEvent, Map as MapView, setWorkerUrl } from 'maplibre-gl';
import workerUrl from 'maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url';
import type { PositionM } from '../../core/contract/model.ts';
import { fromDisplay, pixelsPerMetre, toDisplay, zoomForScale } from './display-frame.ts';
import { type CellField, paintField } from './field.ts';
import type { Camera } from './furniture.ts';
import type { BoundsM } from './geometry.ts';
import { mapIcons } from './icons.ts';
import type { LayerData } from './layers.ts';
import { cutPicture, drawPiece, type PictureCorners } from './picture-pieces.ts';
import { FIELD_GOES_BELOW, mapStyle, PICTURES_GO_BELOW } from './style.ts';

export interface LotMapEvents {
  readonly onCamera: (camera: Camera) => void;
  /** `isFree` while Alt is held: nothing then takes hold of the pointer. */
  readonly onPointer: (positionM: PositionM | null, isFree: boolean) => void;
  readonly onClick: (positionM: PositionM, probeId: string | null, isFree: boolean) => void;
  readonly onDoubleClick: () => void;
  /**
   * True takes the drag: the map then stays where it is and tells each place the pointer comes to. A hand hits what lies
   * within `reachM`.
   */
  readonly onDragStart: (positionM: PositionM, reachM: number) => boolean;
  readonly onDrag: (positionM: PositionM) => void;
}

/** The map library, in project metres. Made once per window. */
export interface LotMap {
  show(name: keyof LayerData, data: LayerData[keyof LayerData]): void;
  showField(field: CellField | null): void;
  /** @param cornersM - upper left, upper right, lower right, lower left of the picture */
  showPicture(id: string, canvas: HTMLCanvasElement, cornersM: PictureCorners, opacity: number): void;
  fadePicture(id: string, opacity: number): void;
  hidePicture(id: string): void;
  select(probeId: string | null): void;
  /** Symbols shrink where probes would else hide the ground between them. */
  setSpacing(spacingM: number): void;
  fit(bounds: BoundsM): void;
  ensureVisible(positionM: PositionM): void;
  zoomBy(steps: number): void;
  setDrawing(drawing: boolean): void;
  remove(): void;
}

interface ShownPicture {
  /** Of the sources and layers of its pieces so far. */
  readonly names: string[];
  opacity: number;
}

const FIELD = 'field';
const pictureName = (id: string) => `picture-${id}`;
const FIT_PADDING_PX = 36;
/** The scale bar takes this much of the foot of the map. */
const SCALE_BAR_PX = 24;
/** A press this near a handle takes it. */
const DRAG_REACH_PX = 12;
/** A click this near a probe means the probe. */
const CLICK_REACH_PX = 9;

/** From so many pixels between probes on, symbols have their full size; at half of that they are smallest. */
const ROOM_PER_PROBE_PX = 34;
const LEAST_ICON_SIZE = 0.5;

let workerIsSet = false;

/** @param label accessible name of the map */
export function createLotMap(container: HTMLElement, label: string, events: LotMapEvents): Promise<LotMap> {
  if (!workerIsSet) {
    setWorkerUrl(new URL(workerUrl, location.href).href);
    workerIsSet = true;
  }
  const map = new MapView({
    container,
    style: mapStyle(),
    center: [0, 0],
    zoom: zoomForScale(10),
    minZoom: 2,
    maxZoom: 20,
    attributionControl: false,
    dragRotate: false,
    pitchWithRotate: false,
    touchPitch: false,
    renderWorldCopies: false,
    fadeDuration: 0,
  });
  map.keyboard.disableRotation();
  map.touchZoomRotate.disableRotation();
  map.getCanvas().setAttribute('aria-label', label);

  let drawing = false;
  /** What the map was last fitted to, until a person moves it: it stays fitted while its place changes size. */
  let fitted: BoundsM | null = null;

  const camera = (): Camera => {
    const centre = map.getCenter();
    return {
      centreM: fromDisplay([centre.lng, centre.lat]),
      pxPerM: pixelsPerMetre(map.getZoom()),
      widthPx: container.clientWidth,
      heightPx: container.clientHeight,
    };
  };
  const positionOf = (event: MapMouseEvent): PositionM => fromDisplay([event.lngLat.lng, event.lngLat.lat]);

  map.on('move', () => events.onCamera(camera()));
  map.on('resize', () => {
    if (fitted) lotMap.fit(fitted);
    events.onCamera(camera());
  });
  map.on('movestart', (event) => {
    if (event.originalEvent) fitted = null;
  });
  map.on('mousemove', (event) => {
    events.onPointer(positionOf(event), event.originalEvent.altKey);
    if (!drawing) map.getCanvas().style.cursor = probeUnder(event) ? 'pointer' : '';
  });
  map.on('mouseout', () => events.onPointer(null, false));
  map.on('mousedown', (event) => {
    const reachM = DRAG_REACH_PX / pixelsPerMetre(map.getZoom());
    if (drawing || !events.onDragStart(positionOf(event), reachM)) return;
    event.preventDefault();
    const drag = (moved: MapMouseEvent) => events.onDrag(positionOf(moved));
    map.on('mousemove', drag);
    window.addEventListener('mouseup', () => map.off('mousemove', drag), { once: true });
  });
  map.on('click', (event) => {
    const probeId = drawing ? null : probeUnder(event);
    events.onClick(positionOf(event), probeId, event.originalEvent.altKey);
  });
  map.on('dblclick', () => events.onDoubleClick());

  function probeUnder(event: MapMouseEvent): string | null {
    const { x, y } = event.point;
    const found = map.queryRenderedFeatures(
      [
        [x - CLICK_REACH_PX, y - CLICK_REACH_PX],
        [x + CLICK_REACH_PX, y + CLICK_REACH_PX],
      ],
      { layers: ['probes'] },
    );
    const id: unknown = found[0]?.properties['probeId'];
    return typeof id === 'string' ? id : null;
  }

  const pictures = new Map<string, ShownPicture>();
  const lotMap: LotMap = {
    show(name, data) {
      map.getSource<GeoJSONSource>(name)?.setData(data);
    },
    showField(field) {
      if (map.getLayer(FIELD)) map.removeLayer(FIELD);
      if (map.getSource(FIELD)) map.removeSource(FIELD);
      if (!field) return;
      const { grid } = field;
      const scale = Math.max(1, Math.min(8, Math.floor(1400 / Math.max(grid.columns, grid.rows))));
      const image = paintField(field, scale);
      const canvas = document.createElement('canvas');
      canvas.width = image.width;
      canvas.height = image.height;
      canvas.getContext('2d')?.putImageData(image, 0, 0);
      const [west, south] = [grid.x0M - grid.cellM / 2, grid.y0M - grid.cellM / 2];
      const [east, north] = [west + grid.columns * grid.cellM, south + grid.rows * grid.cellM];
      map.addSource(FIELD, {
        type: 'canvas',
        canvas,
        animate: false,
        coordinates: [
          toDisplay([west, north]),
          toDisplay([east, north]),
          toDisplay([east, south]),
          toDisplay([west, south]),
        ],
      });
      map.addLayer(
        { id: FIELD, type: 'raster', source: FIELD, paint: { 'raster-fade-duration': 0 } },
        FIELD_GOES_BELOW,
      );
    },
    showPicture(id, canvas, cornersM, opacity) {
      lotMap.hidePicture(id);
      const picture: ShownPicture = { names: [], opacity };
      pictures.set(id, picture);
      const pieces = cutPicture(canvas.width, canvas.height, cornersM);
      const showNext = (): void => {
        const piece = pieces.shift();
        if (piece === undefined || pictures.get(id) !== picture) return;
        const name = `${pictureName(id)}-${picture.names.length}`;
        picture.names.push(name);
        const [a, b, c, d] = piece.cornersM;
        map.addSource(name, {
          type: 'canvas',
          canvas: drawPiece(canvas, piece),
          animate: false,
          coordinates: [toDisplay(a), toDisplay(b), toDisplay(c), toDisplay(d)],
        });
        map.addLayer(
          {
            id: name,
            type: 'raster',
            source: name,
            paint: { 'raster-fade-duration': 0, 'raster-opacity': picture.opacity },
          },
          PICTURES_GO_BELOW,
        );
        map.once('render', showNext);
      };
      showNext();
    },
    fadePicture(id, opacity) {
      const picture = pictures.get(id);
      if (!picture) return;
      picture.opacity = opacity;
      for (const name of picture.names) map.setPaintProperty(name, 'raster-opacity', opacity);
    },
    hidePicture(id) {
      for (const name of pictures.get(id)?.names ?? []) {
        map.removeLayer(name);
        map.removeSource(name);
      }
      pictures.delete(id);
    },
    select(probeId) {
      map.setFilter('selection', ['==', ['get', 'probeId'], probeId ?? '']);
    },
    setSpacing(spacingM) {
      const full = zoomForScale(Math.min(Math.max(ROOM_PER_PROBE_PX / spacingM, 1e-6), 1e6));
      for (const layer of ['probes', 'added-probes', 'probe-bodies'])
        map.setLayoutProperty(layer, 'icon-size', [
          'interpolate',
          ['exponential', 2],
          ['zoom'],
          full - 1,
          LEAST_ICON_SIZE,
          full,
          1,
        ]);
    },
    fit(bounds) {
      fitted = bounds;
      const width = Math.max(bounds.maxX - bounds.minX, 1);
      const height = Math.max(bounds.maxY - bounds.minY, 1);
      const pxPerM = Math.min(
        Math.max(40, container.clientWidth - 2 * FIT_PADDING_PX) / width,
        Math.max(40, container.clientHeight - 2 * FIT_PADDING_PX - SCALE_BAR_PX) / height,
      );
      map.jumpTo({
        center: toDisplay([
          (bounds.minX + bounds.maxX) / 2,
          (bounds.minY + bounds.maxY) / 2 - SCALE_BAR_PX / 2 / pxPerM,
        ]),
        zoom: zoomForScale(pxPerM),
      });
    },
    ensureVisible(positionM) {
      const place = map.project(toDisplay(positionM));
      const margin = 24;
      const inside =
        place.x > margin &&
        place.y > margin &&
        place.x < container.clientWidth - margin &&
        place.y < container.clientHeight - margin;
      if (!inside) map.easeTo({ center: toDisplay(positionM), duration: 250 });
    },
    zoomBy(steps) {
      fitted = null;
      map.easeTo({ zoom: map.getZoom() + steps, duration: 200 });
    },
    setDrawing(on) {
      drawing = on;
      map.getCanvas().style.cursor = on ? 'crosshair' : '';
      if (on) map.doubleClickZoom.disable();
      else map.doubleClickZoom.enable();
    },
    remove: () => map.remove(),
  };

  return new Promise((resolve) => {
    map.once('load', () => {
      for (const icon of mapIcons()) map.addImage(icon.id, icon.image, { pixelRatio: icon.pixelRatio });
      events.onCamera(camera());
      resolve(lotMap);
    });
  });
}
