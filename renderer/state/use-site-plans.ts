import { useEffect, useState } from 'react';
import type { SitePlanView } from '../../core/contract/site-plans.ts';
import { drawImage } from '../map/site-plan-image.ts';
import { useApp, useAppState } from './context.ts';

/** Site plans of the open project, anew after every change of it, undo included. */
export function useSitePlans(): void {
  const app = useApp();
  const revision = useAppState((state) => state.view?.revision ?? null);
  const path = useAppState((state) => state.view?.path ?? null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another project or revision may have other plans
  useEffect(() => {
    if (revision === null) return;
    app.client.newest('site-plans', 'site-plan.list', {}).then(
      ({ plans }) =>
        app.store.update((state) =>
          JSON.stringify(state.sitePlans) === JSON.stringify(plans) ? state : { ...state, sitePlans: plans },
        ),
      // Dropped for a newer one, or the project was closed: there is nothing to show.
      () => undefined,
    );
  }, [app, revision, path]);
}

export interface Picture {
  readonly canvas: HTMLCanvasElement | null;
  readonly problem: string | null;
}

const NOTHING: Picture = { canvas: null, problem: null };
/** By id: an image never changes, and is fetched once. */
const pictures = new Map<string, Promise<HTMLCanvasElement>>();
const MOST_KEPT = 6;

/** The picture of a plan once it is there. */
export function usePicture(plan: Pick<SitePlanView, 'id' | 'widthPx' | 'heightPx'> | null): Picture {
  const app = useApp();
  const [picture, setPicture] = useState<Picture>(NOTHING);
  const { id = null, widthPx = 1, heightPx = 1 } = plan ?? {};
  useEffect(() => {
    setPicture(NOTHING);
    if (id === null) return;
    let isCurrent = true;
    let loading = pictures.get(id);
    if (!loading) {
      loading = app.client
        .request('site-plan.image', { id })
        .then((image) => drawImage(image, { widthPx, heightPx }));
      pictures.set(id, loading);
      for (const oldest of [...pictures.keys()].slice(0, -MOST_KEPT)) pictures.delete(oldest);
    }
    loading.then(
      (canvas) => {
        if (isCurrent) setPicture({ canvas, problem: null });
      },
      (error: unknown) => {
        pictures.delete(id);
        const problem = error instanceof Error ? error.message : String(error);
        if (isCurrent) setPicture({ canvas: null, problem });
      },
    );
    return () => {
      isCurrent = false;
    };
  }, [app, id, widthPx, heightPx]);
  return picture;
}
