import { useEffect, useState } from 'react';
import type { SchemeList } from '../../core/contract/rules.ts';
import { useApp, useView } from './context.ts';

/** All schemes to choose from, read anew at every revision; null until they are there. */
export function useSchemes(): SchemeList | null {
  const app = useApp();
  const { revision } = useView();
  const [list, setList] = useState<SchemeList | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision may hold other schemes
  useEffect(() => {
    let gone = false;
    void app
      .attempt('Reading the schemes', () => app.client.request('scheme.list', {}))
      .then((found) => {
        if (found && !gone) setList(found);
      });
    return () => {
      gone = true;
    };
  }, [app, revision]);
  return list;
}
