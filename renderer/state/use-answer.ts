import { useEffect, useState } from 'react';
import type { Input, Output, RequestName } from '../../core/contract/requests.ts';
import { useApp, useView } from './context.ts';

/** Left out where the request asks nothing more; null while there is nothing to ask. */
type Rest<N extends RequestName> = Input<N> extends Record<string, never> ? [] : [input: Input<N> | null];

/** What the open project answers, asked anew at every revision and for every other input; null until it is there. */
export function useAnswer<N extends RequestName>(name: N, doing: string, ...rest: Rest<N>): Output<N> | null {
  const app = useApp();
  const { revision } = useView();
  const input = rest.length === 0 ? ({} as Input<N>) : rest[0];
  const asked = JSON.stringify(input);
  const [held, setHeld] = useState<{ readonly asked: string; readonly answer: Output<N> } | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the input is compared by what it holds; a new revision may have another answer
  useEffect(() => {
    if (input === null) return;
    let gone = false;
    void app
      .attempt(doing, () => app.client.request(name, input))
      .then((answer) => {
        if (answer !== null && !gone) setHeld({ asked, answer });
      });
    return () => {
      gone = true;
    };
  }, [app, name, doing, asked, revision]);
  return held?.asked === asked ? held.answer : null;
}
