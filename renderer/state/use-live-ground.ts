import { useEffect } from 'react';
import { keptBasis, surfaceBasis } from './basis.ts';
import { useApp, useAppState, useView } from './context.ts';

/**
 * Keeps what the engine says of the ground in step with project and hand while the Site step is open: realisations are
 * drawn once the surface is there, and asked again for the place in hand with every move.
 */
export function useLiveGround(): void {
  const app = useApp();
  const view = useView();
  const placement = useAppState((state) => state.placement);
  const surface = useAppState((state) => state.surface);
  const ground = useAppState((state) => state.siting.ground);
  const basis = surfaceBasis(view);
  const places = keptBasis(view);
  const hasFootprint = view.footprint !== null;
  const canDraw =
    hasFootprint && view.settings.surface.method === 'kriging' && surface !== null && surface.basis === basis;
  const isReady = ground?.basis === basis && ground.status === 'ready';
  const mustDraw = canDraw && ground?.basis !== basis;

  useEffect(() => {
    if (mustDraw) void app.prepareGround();
  }, [app, mustDraw]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another place, other places kept or new ground ask anew
  useEffect(() => {
    if (hasFootprint) void app.askInHand();
  }, [app, hasFootprint, placement, places, isReady]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: as above
  useEffect(() => {
    if (!hasFootprint) return;
    void app.askStanding();
    void app.readFootprintClass();
  }, [app, hasFootprint, places, isReady]);
  const keptCount = view.footprint?.placements.length ?? 0;
  // biome-ignore lint/correctness/useExhaustiveDependencies: as above
  useEffect(() => {
    if (isReady && keptCount > 0) void app.compareKept();
  }, [app, places, isReady, keptCount]);
}
