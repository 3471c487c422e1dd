import type { MergeRequests } from '../contract/merge.ts';
import type { Handlers } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
import { commitMerge } from './merge-commit.ts';
import { previewMerge } from './merge-plan.ts';
import { withOtherProject } from './open-other.ts';

/** Requests that bring a colleague's project in. */
export function mergeHandlers({
  current,
  changeAndReduce,
}: HandlerTools): Pick<Handlers, keyof MergeRequests> {
  return {
    'merge.preview': ({ path }) => {
      const store = current();
      return withOtherProject(store, path, (other) => previewMerge(store, other, path));
    },
    'merge.commit': async ({ path, recordHash, choices }, context) => {
      const { view, result } = await changeAndReduce(
        (store) =>
          withOtherProject(store, path, (other) => commitMerge(store, other, path, recordHash, choices)),
        context,
      );
      return { view, report: result };
    },
  };
}
