import { useEffect, useState } from 'react';
import type { Input, Output, RequestName } from '../../core/contract/requests.ts';
import { DroppedReply } from '../client.ts';
import { useApp } from '../state/context.ts';
import { problemOf } from '../state/problem.ts';

interface LiveAnswer<N extends RequestName> {
  readonly output: Output<N> | null;
  /** In words; null where there is an answer. */
  readonly problem: string | null;
}

/**
 * The engine's answer to what a form holds just now; only the newest question is ever on its way.
 * @param input - null while there is nothing to ask; must be the same object for the same question
 */
export function useLiveAnswer<N extends RequestName>(
  name: N,
  key: string,
  input: Input<N> | null,
): LiveAnswer<N> {
  const app = useApp();
  const [answer, setAnswer] = useState<LiveAnswer<N>>({ output: null, problem: null });
  useEffect(() => {
    let isCurrent = true;
    if (input === null) {
      setAnswer({ output: null, problem: null });
      return;
    }
    app.client.newest(key, name, input).then(
      (output) => {
        if (isCurrent) setAnswer({ output, problem: null });
      },
      (error: unknown) => {
        if (isCurrent && !(error instanceof DroppedReply))
          setAnswer({ output: null, problem: problemOf(name, error).message });
      },
    );
    return () => {
      isCurrent = false;
    };
  }, [app, name, key, input]);
  return answer;
}
