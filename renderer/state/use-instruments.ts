import { useEffect, useState } from 'react';
import type { Instrument } from '../../core/contract/model.ts';
import { useApp, useView } from './context.ts';

/** The register of the open project, read anew at every revision; null until it is there. */
export function useInstruments(): readonly Instrument[] | null {
  const app = useApp();
  const { revision } = useView();
  const [instruments, setInstruments] = useState<readonly Instrument[] | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision may hold another register
  useEffect(() => {
    let gone = false;
    void app
      .attempt('Reading the register of instruments', () => app.client.request('instrument.list', {}))
      .then((found) => {
        if (found && !gone) setInstruments(found.instruments);
      });
    return () => {
      gone = true;
    };
  }, [app, revision]);
  return instruments;
}
