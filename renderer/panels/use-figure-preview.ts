import type { FigureOptions } from '../../core/contract/requests.ts';
import { useApp } from '../state/context.ts';
import { type PagePreview, usePagePreview } from './use-page-preview.ts';

/** One page of the figure as a picture, drawn anew with the options and at every revision. */
export function useFigurePreview(options: FigureOptions, pageIndex: number, revision: number): PagePreview {
  const app = useApp();
  return usePagePreview('Drawing the figure', JSON.stringify([options, pageIndex, revision]), () =>
    app.client.newest('figure', 'figure.preview', { options, pageIndex }, { dropStale: true }),
  );
}
