/** The whole bridge between the sandboxed window and the shell. */
import { contextBridge, ipcRenderer } from 'electron';
import type { EngineEvent } from '../core/contract/envelope.ts';
import type { ShellBridge } from '../core/contract/shell.ts';
import { CHANNELS } from './channels.ts';

const bridge: ShellBridge = {
  send: (request) => ipcRenderer.invoke(CHANNELS.send, request),
  onEvent(listener) {
    const forward = (_: unknown, event: EngineEvent) => listener(event);
    ipcRenderer.on(CHANNELS.event, forward);
    return () => {
      ipcRenderer.off(CHANNELS.event, forward);
    };
  },
  chooseOpen: (options) => ipcRenderer.invoke(CHANNELS.chooseOpen, options),
  chooseSave: (options) => ipcRenderer.invoke(CHANNELS.chooseSave, options),
  reveal: (path) => ipcRenderer.invoke(CHANNELS.reveal, path),
  startUp: () => ipcRenderer.invoke(CHANNELS.startUp),
};

contextBridge.exposeInMainWorld('gasplat', bridge);
