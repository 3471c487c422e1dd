import { useEffect, useState } from 'react';
import type { FigureOptions } from '../../core/contract/requests.ts';
import type { Problem } from '../state/app-state.ts';
import { useApp } from '../state/context.ts';

/** A change of the options is drawn when no other has come for so long. */
const SETTLE_MS = 250;

export interface FigurePreview {
  readonly url: string | null;
  readonly pageCount: number;
  readonly busy: boolean;
  readonly problem: Problem | null;
}

/** One page of the figure as a picture, drawn anew with the options and at every revision. */
export function useFigurePreview(options: FigureOptions, pageIndex: number, revision: number): FigurePreview {
  const app = useApp();
  const [drawn, setDrawn] = useState<{ url: string; pageCount: number } | null>(null);
  const [busy, setBusy] = useState(true);
  const [problem, setProblem] = useState<Problem | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision is a new figure
  useEffect(() => {
    let gone = false;
    let made: string | null = null;
    setBusy(true);
    const timer = setTimeout(() => {
      app.client
        .newest('figure', 'figure.preview', { options, pageIndex }, { dropStale: true })
        .then(({ svg, pageCount }) => {
          if (gone) return;
          made = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
          setDrawn({ url: made, pageCount });
          setProblem(null);
          setBusy(false);
        })
        .catch((error: unknown) => {
          if (gone || (error instanceof Error && error.name === 'DroppedReply')) return;
          setDrawn(null);
          setBusy(false);
          setProblem({
            doing: 'Drawing the figure',
            message: error instanceof Error ? error.message : String(error),
            details: {},
          });
        });
    }, SETTLE_MS);
    return () => {
      gone = true;
      clearTimeout(timer);
      if (made) URL.revokeObjectURL(made);
    };
  }, [app, options, pageIndex, revision]);
  return { url: drawn?.url ?? null, pageCount: drawn?.pageCount ?? 1, busy, problem };
}
