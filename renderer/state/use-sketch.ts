import { useEffect } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { useApp } from './context.ts';

/** Shows an outline on the map for as long as the form that makes it is there; null shows none. */
export function useSketch(points: readonly PositionM[] | null, isClosed: boolean): void {
  const app = useApp();
  useEffect(() => {
    const sketch = points === null || points.length === 0 ? null : { points, isClosed };
    app.store.update((state) => ({ ...state, sketch }));
    return () => app.store.update((state) => (state.sketch === sketch ? { ...state, sketch: null } : state));
  }, [app, points, isClosed]);
}
