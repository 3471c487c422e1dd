import { BrowserWindow, dialog, type Session } from 'electron';
import { mayLoad, SCHEME, START_URL, serveFolder } from './protocol.ts';

/** Lets nothing in or out of the session but the program's own files. Once, before the first window. */
export function secureSession(session: Session, rendererFolder: string): void {
  session.protocol.handle(SCHEME, serveFolder(rendererFolder));
  session.webRequest.onBeforeRequest(({ url }, answer) => answer({ cancel: !mayLoad(url) }));
  session.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  session.setPermissionCheckHandler(() => false);
  session.setDevicePermissionHandler(() => false);
  session.on('will-download', (event) => event.preventDefault());
}

/** The program's one window, shown once it has something to show. */
export function openWindow(preloadFile: string): BrowserWindow {
  const window = new BrowserWindow({
    width: 1440,
    height: 900,
    minWidth: 960,
    minHeight: 600,
    show: false,
    title: 'Gasplat',
    webPreferences: {
      preload: preloadFile,
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      webviewTag: false,
      // Its dictionaries would come from the network.
      spellcheck: false,
    },
  });
  const { webContents } = window;
  webContents.setWindowOpenHandler(() => ({ action: 'deny' }));
  webContents.on('will-frame-navigate', (event) => event.preventDefault());
  webContents.on('will-attach-webview', (event) => event.preventDefault());
  webContents.on('render-process-gone', (_event, { reason }) => {
    if (reason !== 'clean-exit') void offerReload(window, reason);
  });
  window.once('ready-to-show', () => window.show());
  void window.loadURL(START_URL);
  return window;
}

async function offerReload(window: BrowserWindow, reason: string): Promise<void> {
  const { response } = await dialog.showMessageBox(window, {
    type: 'error',
    message: `The window stopped working (${reason}).`,
    detail: 'Everything entered up to now is in the project file.',
    buttons: ['Load the window again', 'Close Gasplat'],
  });
  if (response === 0) window.webContents.reload();
  else window.close();
}
