import { useEffect, useState } from 'react';
import type { Input, Output } from '../../core/contract/requests.ts';
import { useApp, useView } from './context.ts';

/** Requests that ask nothing more and are answered from the project as it stands. */
type PlainRequest = 'quality.get' | 'field.leave' | 'day.list';

/** The answer for the open project, asked anew at every revision; null until it is there. */
export function useAnswer<N extends PlainRequest>(name: N, doing: string): Output<N> | null {
  const app = useApp();
  const { revision } = useView();
  const [answer, setAnswer] = useState<Output<N> | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision may have another answer
  useEffect(() => {
    let gone = false;
    void app
      .attempt(doing, () => app.client.request(name, {} as Input<N>))
      .then((found) => {
        if (found !== null && !gone) setAnswer(found);
      });
    return () => {
      gone = true;
    };
  }, [app, name, doing, revision]);
  return answer;
}
