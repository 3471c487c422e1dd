import type { FeatureCollection } from 'geojson';
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';
import type { Pose, PositionM, RingM } from '../../core/contract/model.ts';
import type { ShownSurface } from '../../core/contract/results.ts';
import { leastCorners, type ShownField, withSelectedProbe } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import { aimOf, NO_POINTER, type Pointer } from './aim.ts';
import { DrawingBar } from './DrawingBar.tsx';
import { withCorner } from './draw.ts';
import { Furniture } from './Furniture.tsx';
import { cellField } from './field.ts';
import type { Camera } from './furniture.ts';
import { type BoundsM, boundsOf, distanceM, noSmallerThan, ringContains, roughSpacingM } from './geometry.ts';
import { Legend } from './Legend.tsx';
import { buildLayers, drawingLayer } from './layers.ts';
import { createLotMap, type LotMap } from './lot-map.ts';
import { placedRing, turnHandle, turnToward } from './placement.ts';
import { isNowhere, toNative } from './project-frame.ts';
import { proposalLayer } from './proposal-layers.ts';
import { Readout } from './Readout.tsx';
import { SitePlanLayers } from './SitePlanLayers.tsx';

const SHOWN_NAMES: Record<ShownField, string> = {
  probes: 'Probes only',
  estimate: 'Estimate',
  error: 'Standard error',
  probability: 'Probability',
  suitability: 'Placements',
};

function whyMissing(field: ShownField, surface: ShownSurface | null): string {
  if (!surface) return 'No surface has been worked out yet.';
  return surface.method === 'idw'
    ? `Inverse distance gives no ${SHOWN_NAMES[field].toLowerCase()}.`
    : `This surface has no ${SHOWN_NAMES[field].toLowerCase()}.`;
}

/** Where a hand took hold of the footprint: by its turning handle, or anywhere on it. */
interface Grip {
  readonly by: 'handle' | 'middle';
  readonly positionM: PositionM;
  readonly centreM: PositionM;
  readonly placement: Pose;
}

function gripAt(ring: RingM, placement: Pose, positionM: PositionM, reachM: number): Grip | null {
  const { centreM, atM } = turnHandle(ring, placement);
  const from = { positionM, centreM, placement };
  if (distanceM(atM, positionM) <= reachM) return { by: 'handle', ...from };
  return ringContains(placedRing(ring, placement), positionM) ? { by: 'middle', ...from } : null;
}

function draggedPose({ by, positionM, centreM, placement }: Grip, at: PositionM): Pose {
  if (by === 'handle') return { ...placement, turnDeg: turnToward(centreM, at) };
  const toCentimetre = (valueM: number) => Math.round(valueM * 100) / 100;
  return {
    ...placement,
    dxM: toCentimetre(placement.dxM + at[0] - positionM[0]),
    dyM: toCentimetre(placement.dyM + at[1] - positionM[1]),
  };
}

/** The first probes typed in may be all there is yet. */
const LEAST_VIEW_M = 12;
/** What a new, empty project shows: a piece of ground around its origin. */
const EMPTY_GROUND: BoundsM = { minX: -5, minY: -5, maxX: 45, maxY: 35 };

function useProposals(): FeatureCollection {
  const view = useAppState((state) => state.view);
  const step = useAppState((state) => state.step);
  const plan = useAppState((state) => state.plan);
  const next = useAppState((state) => state.next);
  const site = useAppState((state) => state.site);
  const chosenPlacement = useAppState((state) => state.chosenPlacement);
  const placement = useAppState((state) => state.placement);
  return useMemo(
    () => proposalLayer({ view, step, plan, next, site, chosenPlacement, placement }),
    [view, step, plan, next, site, chosenPlacement, placement],
  );
}

export function MapPane() {
  const app = useApp();
  const view = useAppState((state) => state.view);
  const surface = useAppState((state) => state.surface);
  const wanted = useAppState((state) => state.shown);
  const drawing = useAppState((state) => state.drawing);
  const aids = useAppState((state) => state.aids);
  const picking = useAppState((state) => state.picking);
  const sketch = useAppState((state) => state.sketch);
  const fitCount = useAppState((state) => state.fitCount);
  const selectedSampleId = useAppState((state) => state.selectedSampleId);
  const host = useRef<HTMLDivElement>(null);
  const dragFrom = useRef<Grip | null>(null);
  const [map, setMap] = useState<LotMap | null>(null);
  const [camera, setCamera] = useState<Camera | null>(null);
  const [pointer, setPointer] = useState<Pointer>(NO_POINTER);
  const pointerM = pointer.atM;
  const cameraNow = useRef<Camera | null>(null);
  const [failure, setFailure] = useState<string | null>(null);
  const unit = view?.settings.radonUnit ?? 'kBq/m3';
  const result = surface?.result ?? null;
  const step = useAppState((state) => state.step);
  const found = useAppState((state) => state.site);
  const site = step === 'site' ? found : null;

  const available = useMemo((): readonly ShownField[] => {
    const all: ShownField[] = result ? ['probes', 'estimate'] : ['probes'];
    for (const field of ['error', 'probability', 'suitability'] as const) {
      if (cellField(result, site, field, unit)) all.push(field);
    }
    return all;
  }, [result, site, unit]);
  const offered = (Object.keys(SHOWN_NAMES) as ShownField[]).filter(
    (field) => field !== 'suitability' || available.includes(field),
  );
  const shown = available.includes(wanted) ? wanted : result ? 'estimate' : 'probes';

  const finishDrawing = useCallback(() => {
    const { drawing: done, view: open } = app.store.get();
    if (!done || !open || done.points.length < leastCorners(done.shape)) return;
    const points = done.points.map((point) => toNative(open.frame, point));
    app.store.update((state) => ({ ...state, drawing: null }));
    const kept = done.keepOut
      ? app.setKeepOut({ ...done.keepOut, shape: done.shape, points })
      : done.target === 'lot'
        ? app.setLot(points)
        : app.setFootprint(open.footprint?.label ?? 'Planned building', points);
    void kept.then((isKept) => {
      // What was refused, such as an outline that crosses itself, can be put right without drawing it anew.
      if (!isKept) app.store.update((state) => (state.drawing ? state : { ...state, drawing: done }));
    });
  }, [app]);

  useEffect(() => {
    const container = host.current;
    if (!container) return;
    let made: LotMap | null = null;
    let gone = false;
    document.fonts
      .load('16px "Plat Sans"')
      .then(() =>
        createLotMap(container, 'Map of the lot: arrow keys move it, plus and minus zoom', {
          onCamera(next) {
            cameraNow.current = next;
            setCamera(next);
          },
          onPointer: (atM, isFree) => setPointer({ atM, isFree }),
          onDoubleClick: finishDrawing,
          onDragStart(positionM, reachM) {
            const { step, view: open, placement } = app.store.get();
            const ring = step === 'site' ? open?.footprint?.drawnRing : undefined;
            dragFrom.current = ring ? gripAt(ring, placement, positionM, reachM) : null;
            return dragFrom.current !== null;
          },
          onDrag(positionM) {
            const from = dragFrom.current;
            if (from) app.store.update((state) => ({ ...state, placement: draggedPose(from, positionM) }));
          },
          onClick(positionM, probeId, isFree) {
            const { picking } = app.store.get();
            if (picking) {
              const aim = aimOf(app.store.get(), cameraNow.current, { atM: positionM, isFree });
              app.store.update((state) => ({ ...state, picking: null }));
              picking(aim?.atM ?? positionM);
              return;
            }
            app.store.update((state) => {
              if (state.drawing) {
                const { atM, kind } = aimOf(state, cameraNow.current, { atM: positionM, isFree }) ?? {
                  atM: positionM,
                  kind: null,
                };
                return {
                  ...state,
                  drawing: withCorner(state.drawing, atM, kind !== null || state.aids.rightAngles),
                };
              }
              return probeId === null ? state : withSelectedProbe(state, probeId);
            });
          },
        }),
      )
      .then((ready) => {
        if (gone) ready.remove();
        else {
          made = ready;
          setMap(ready);
        }
      })
      .catch((error: unknown) => setFailure(error instanceof Error ? error.message : String(error)));
    return () => {
      gone = true;
      made?.remove();
    };
  }, [app, finishDrawing]);

  const layers = useMemo(
    () => buildLayers({ view, surface: result, shown, unit }),
    [view, result, shown, unit],
  );
  useEffect(() => {
    if (!map) return;
    for (const name of Object.keys(layers) as (keyof typeof layers)[]) map.show(name, layers[name]);
  }, [map, layers]);
  const aim = useMemo(
    () => aimOf({ view, drawing, aids, picking }, camera, pointer),
    [view, drawing, aids, picking, camera, pointer],
  );
  const probes = view?.probes;
  useEffect(() => {
    map?.setSpacing(roughSpacingM((probes ?? []).map((probe) => probe.positionM)));
  }, [map, probes]);
  const proposals = useProposals();
  useEffect(() => {
    map?.show('proposals', proposals);
  }, [map, proposals]);
  useEffect(() => {
    map?.show('drawing', drawingLayer(drawing, aim, sketch));
  }, [map, drawing, aim, sketch]);
  useEffect(() => {
    map?.showField(cellField(result, site, shown, unit));
  }, [map, result, site, shown, unit]);
  const nowhere = view !== null && isNowhere(view);
  const isDrawing = drawing !== null || picking !== null;
  useEffect(() => {
    map?.setDrawing(isDrawing);
  }, [map, isDrawing]);

  const selectedProbeId = view?.samples.find((sample) => sample.id === selectedSampleId)?.probeId ?? null;
  useEffect(() => {
    if (!map) return;
    map.select(selectedProbeId);
    const probe = app.store.get().view?.probes.find((one) => one.id === selectedProbeId);
    if (probe) map.ensureVisible(probe.positionM);
  }, [map, selectedProbeId, app]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: only a new wish to fit moves the map, not every edit
  useEffect(() => {
    const open = app.store.get().view;
    if (!map || !open) return;
    const points = open.lot ?? open.probes.map((probe) => probe.positionM);
    const bounds = boundsOf([...points, ...(open.footprint?.ring ?? [])]);
    map.fit(bounds === null ? EMPTY_GROUND : noSmallerThan(bounds, LEAST_VIEW_M));
  }, [map, fitCount, app]);

  return (
    <section className="map-pane" aria-label="Map">
      <SitePlanLayers map={map} />
      <div className="map-bar">
        <fieldset className="segments">
          <legend className="visually-hidden">Shown on the map</legend>
          {offered.map((field) => (
            <label
              key={field}
              className="segment"
              title={available.includes(field) ? undefined : whyMissing(field, result)}
            >
              <input
                type="radio"
                name="shown"
                checked={shown === field}
                disabled={!available.includes(field)}
                onChange={() => app.store.update((state) => ({ ...state, shown: field }))}
              />
              <span>{SHOWN_NAMES[field]}</span>
            </label>
          ))}
        </fieldset>
        <div className="map-tools">
          <button
            type="button"
            className="quiet"
            onClick={() => map?.zoomBy(-1)}
            aria-label="Zoom out"
            title="Zoom out"
          >
            −
          </button>
          <button
            type="button"
            className="quiet"
            onClick={() => map?.zoomBy(1)}
            aria-label="Zoom in"
            title="Zoom in"
          >
            +
          </button>
          <button
            type="button"
            className="quiet"
            onClick={() => app.store.update((state) => ({ ...state, fitCount: state.fitCount + 1 }))}
          >
            Fit to lot
          </button>
        </div>
      </div>
      {drawing ? <DrawingBar drawing={drawing} aim={aim} onFinish={finishDrawing} /> : null}
      <div className="map-sheet">
        <div className="map-area">
          <div className="map-frame">
            <div className="map-canvas" ref={host} />
            {failure === null ? null : (
              <p className="map-failure" role="alert">
                The map cannot be drawn: {failure} All values are in the tables; figures can still be saved.
              </p>
            )}
          </div>
          {camera && view && !nowhere ? <Furniture camera={camera} frame={view.frame} /> : null}
          {nowhere ? (
            <p className="map-nowhere">
              The sheet has no place yet: the lot line, a file or samples give it one.
            </p>
          ) : null}
        </div>
        {view ? (
          <Legend view={view} surface={surface} site={site} shown={shown} unit={unit} proposals={proposals} />
        ) : null}
      </div>
      {camera && view && !nowhere ? (
        <Readout
          frame={view.frame}
          pointerM={pointerM}
          centreM={camera.centreM}
          surface={shown === 'probes' ? null : result}
          unit={unit}
        />
      ) : null}
    </section>
  );
}
