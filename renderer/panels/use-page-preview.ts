import { useEffect, useState } from 'react';
import type { Problem } from '../state/app-state.ts';

/** A change of the options is drawn when no other has come for so long. */
const SETTLE_MS = 250;

export interface PagePreview {
  readonly url: string | null;
  readonly pageCount: number;
  readonly busy: boolean;
  readonly problem: Problem | null;
}

/**
 * One page as a picture, drawn anew whenever `asked` changes; null draws nothing.
 * @param asked all that the drawing rests on, as one text
 */
export function usePagePreview(
  doing: string,
  asked: string | null,
  draw: () => Promise<{ readonly svg: string; readonly pageCount: number }>,
): PagePreview {
  const [drawn, setDrawn] = useState<{ url: string; pageCount: number } | null>(null);
  const [busy, setBusy] = useState(true);
  const [problem, setProblem] = useState<Problem | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: `asked` is all that `draw` rests on
  useEffect(() => {
    if (asked === null) return;
    let gone = false;
    let made: string | null = null;
    setBusy(true);
    const timer = setTimeout(() => {
      draw()
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
            doing,
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
  }, [asked]);
  return { url: drawn?.url ?? null, pageCount: drawn?.pageCount ?? 1, busy, problem };
}
