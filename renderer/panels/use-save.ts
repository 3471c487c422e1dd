import type { ProjectView } from '../../core/contract/model.ts';
import type { JobOptions } from '../state/app.ts';
import { useApp } from '../state/context.ts';

export interface SaveOrder {
  readonly doing: string;
  readonly title: string;
  readonly name: string;
  readonly extension: string;
  /** Put after the project's own file name. */
  readonly suffix?: string;
  /** A figure or report: what a permit office gets. */
  readonly isFiled: boolean;
  readonly write: (path: string, job: JobOptions) => Promise<{ readonly path: string }>;
}

/** Asks where to, writes with progress, and says where it went. */
export function useSave(view: ProjectView): (order: SaveOrder) => Promise<void> {
  const app = useApp();
  const baseName =
    view.path
      .split(/[\\/]/)
      .at(-1)
      ?.replace(/\.gasplat$/, '') ?? 'lot';
  return async ({ doing, title, name, extension, suffix = '', isFiled, write }) => {
    await app.attempt(doing, async () => {
      const path = await app.bridge.chooseSave({
        title,
        suggestedName: `${baseName}${suffix}.${extension}`,
        filters: [{ name, extensions: [extension] }],
      });
      if (!path) return;
      const written = await app.asJob(doing, (job) => write(path, job));
      app.store.update((state) => ({
        ...state,
        deliveredPath: written.path,
        deliveredAt: isFiled ? (state.view?.revision ?? null) : state.deliveredAt,
        said: `Saved ${written.path}`,
      }));
    });
  };
}
