import { utilityProcess } from 'electron';
import type { StartEngineProcess } from './engine-process.ts';

/** The engine as a utility process of Electron, on Electron's own Node. */
export function startUtilityEngine(entry: string): StartEngineProcess {
  return () => {
    const child = utilityProcess.fork(entry, [], { serviceName: 'Gasplat engine', stdio: 'inherit' });
    return {
      post: (message) => child.postMessage(message),
      onMessage: (listener) => child.on('message', listener),
      onExit: (listener) => child.once('exit', (code) => listener(`exit code ${code}`)),
      kill: () => child.kill(),
    };
  };
}
