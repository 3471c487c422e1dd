import { useEffect, useRef } from 'react';
import type { SitePlanView } from '../../core/contract/site-plans.ts';
import { useAppState } from '../state/context.ts';
import { usePicture, useSitePlans } from '../state/use-site-plans.ts';
import type { LotMap } from './lot-map.ts';

/** Puts the site plans of the project under the map, in the order they were added. */
export function SitePlanLayers({ map }: { readonly map: LotMap | null }) {
  useSitePlans();
  const plans = useAppState((state) => state.sitePlans);
  const tried = useAppState((state) => state.triedSitePlan);
  return plans.map((plan) => (
    <SitePlanLayer key={plan.id} map={map} plan={tried?.id === plan.id ? tried : plan} />
  ));
}

function SitePlanLayer({ map, plan }: { readonly map: LotMap | null; readonly plan: SitePlanView }) {
  const isThere = plan.isShown && plan.cornersM !== null;
  const { canvas } = usePicture(isThere ? plan : null);
  const { id, opacity } = plan;
  const newest = useRef(plan);
  newest.current = plan;
  const place = JSON.stringify(isThere ? plan.cornersM : null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the place is compared by what it holds
  useEffect(() => {
    const { cornersM } = newest.current;
    if (!map || !canvas || !isThere || cornersM === null) return;
    map.showPicture(id, canvas, cornersM, newest.current.opacity);
    return () => map.hidePicture(id);
  }, [map, id, canvas, place, isThere]);
  useEffect(() => {
    map?.fadePicture(id, opacity);
  }, [map, id, opacity]);
  return null;
}
