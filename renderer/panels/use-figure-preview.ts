import { useEffect, useRef, useState } from 'react';
import type { FigureOptions } from '../../core/contract/requests.ts';
import type { SheetLayoutView } from '../../core/contract/sheet.ts';
import { DroppedReply } from '../client.ts';
import type { Problem } from '../state/app-state.ts';
import { useApp } from '../state/context.ts';
import { problemOf } from '../state/problem.ts';

export interface DrawnPage {
  readonly url: string;
  readonly pageCount: number;
  readonly layout: SheetLayoutView;
}

export interface FigurePreview {
  readonly drawn: DrawnPage | null;
  /** Until what is shown is what was asked for last. */
  readonly busy: boolean;
  readonly problem: Problem | null;
}

interface Ask {
  readonly options: FigureOptions;
  readonly pageIndex: number;
}

/**
 * One page of the figure as a picture, drawn anew with the options and at every revision. One question is on its way
 * at a time and each answer is shown, so that the picture follows a drag; of what is asked meanwhile only the last is sent.
 * @param settleMs - how long the options must rest before they are drawn
 */
export function useFigurePreview(
  options: FigureOptions,
  pageIndex: number,
  revision: number,
  settleMs: number,
): FigurePreview {
  const app = useApp();
  const [preview, setPreview] = useState<FigurePreview>({ drawn: null, busy: true, problem: null });
  const lane = useRef<{
    gone: boolean;
    busy: boolean;
    resting: boolean;
    wanted: Ask | null;
    url: string | null;
  }>({
    gone: false,
    busy: false,
    resting: false,
    wanted: null,
    url: null,
  });
  useEffect(() => {
    const own = lane.current;
    own.gone = false;
    return () => {
      own.gone = true;
      if (own.url) URL.revokeObjectURL(own.url);
      own.url = null;
    };
  }, []);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision is a new figure
  useEffect(() => {
    const own = lane.current;
    const show = (drawn: DrawnPage | null, problem: Problem | null) => {
      if (own.gone) return;
      if (own.url) URL.revokeObjectURL(own.url);
      own.url = drawn?.url ?? null;
      setPreview({ drawn, busy: own.resting || own.wanted !== null, problem });
    };
    const next = (): void => {
      const ask = own.wanted;
      if (own.busy || own.gone || ask === null) return;
      own.wanted = null;
      own.busy = true;
      app.client
        .request('figure.preview', ask)
        .then(({ svg, pageCount, layout }) => {
          const url = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
          show({ url, pageCount, layout }, null);
        })
        .catch((error: unknown) => {
          if (!(error instanceof DroppedReply)) show(null, problemOf('Drawing the figure', error));
        })
        .finally(() => {
          own.busy = false;
          next();
        });
    };
    setPreview((before) => (before.busy ? before : { ...before, busy: true }));
    own.resting = true;
    const timer = setTimeout(() => {
      own.resting = false;
      own.wanted = { options, pageIndex };
      next();
    }, settleMs);
    return () => clearTimeout(timer);
  }, [app, options, pageIndex, revision]);
  return preview;
}
