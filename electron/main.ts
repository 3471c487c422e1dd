/** Start-up of the shell. */
import { mkdtempSync } from 'node:fs';
import { join } from 'node:path';
import { app, type BrowserWindow, dialog, ipcMain, protocol, session } from 'electron';
import { fromWire, toWire } from '../core/errors.ts';
import { findEngineNode, STORE_NAPI, startChildEngine } from './child-engine.ts';
import { type CommandLine, parseCommandLine } from './command-line.ts';
import { queuedDialogs, systemDialogs } from './dialogs.ts';
import { createEngineHost, type EngineHost } from './engine-host.ts';
import type { StartEngineProcess } from './engine-process.ts';
import { connectWindow } from './ipc.ts';
import { setApplicationMenu } from './menu.ts';
import { SCHEME } from './protocol.ts';
import { startUtilityEngine } from './utility-engine.ts';
import { openWindow, secureSession } from './window.ts';

const here = import.meta.dirname;
/** Ways in for tests and developers, shut in the packaged program. */
const overrides: NodeJS.ProcessEnv = app.isPackaged ? {} : process.env;

let asked: CommandLine = parseCommandLine(process.argv, app.isPackaged, process.cwd());
let window: BrowserWindow | null = null;
let host: EngineHost | null = null;

async function chooseEngineProcess(): Promise<StartEngineProcess> {
  const entry = overrides['GASPLAT_TEST_ENGINE'] ?? join(here, 'engine.js');
  const canLoadStore = Number(process.versions['napi']) >= STORE_NAPI;
  const kind = overrides['GASPLAT_TEST_HOST'] ?? (canLoadStore ? 'utility' : 'child');
  if (kind === 'utility') return startUtilityEngine(entry);
  return startChildEngine(await findEngineNode(app.getAppPath()), entry);
}

/** @throws AppError where the demo cannot be made */
async function startUp(engine: EngineHost): Promise<CommandLine> {
  if (!asked.demo) return asked;
  // A project like any other, made before the page opens it; who wants to keep it saves a copy.
  const path = join(mkdtempSync(join(app.getPath('temp'), 'gasplat-')), 'demo.gasplat');
  const input = { path, lot: 'ordinary' } as const;
  const reply = await engine.send({ kind: 'request', id: 0, name: 'project.demo', input });
  if (!reply.ok) throw fromWire(reply.error);
  asked = { openPath: path, demo: false };
  return { openPath: path, demo: true };
}

/** A second start, or a project opened from the system's file manager. */
function takeUp(next: CommandLine): void {
  if (next.openPath !== null) asked = next;
  if (window === null) return;
  if (window.isMinimized()) window.restore();
  window.focus();
  // The page asks again what to do first. Nothing is lost: every change is in the project file already.
  if (next.openPath !== null) window.webContents.reload();
}

async function start(): Promise<void> {
  await app.whenReady();
  setApplicationMenu(app.isPackaged);
  secureSession(session.defaultSession, overrides['GASPLAT_TEST_RENDERER'] ?? join(here, 'renderer'));
  const engine = createEngineHost({ start: await chooseEngineProcess() });
  host = engine;
  const queueFile = overrides['GASPLAT_TEST_DIALOGS'];
  window = openWindow(join(here, 'preload.cjs'));
  connectWindow(ipcMain, {
    window,
    host: engine,
    dialogs: queueFile === undefined ? systemDialogs : queuedDialogs(queueFile),
    startUp: () => startUp(engine),
  });
  window.on('closed', () => {
    window = null;
  });
}

function giveUp(error: unknown): void {
  const { message } = toWire(error);
  console.error(message);
  dialog.showErrorBox('Gasplat cannot start', message);
  app.exit(1);
}

if (app.requestSingleInstanceLock()) {
  protocol.registerSchemesAsPrivileged([
    { scheme: SCHEME, privileges: { standard: true, secure: true, supportFetchAPI: true, stream: true } },
  ]);
  app.on('second-instance', (_event, argv, folder) => takeUp(parseCommandLine(argv, app.isPackaged, folder)));
  app.on('open-file', (event, path) => {
    event.preventDefault();
    takeUp({ openPath: path, demo: false });
  });
  app.on('window-all-closed', () => app.quit());
  app.on('will-quit', (event) => {
    if (host === null) return;
    event.preventDefault();
    const closing = host.stop();
    host = null;
    // Later, because a quit asked for while this event is still being told is lost.
    void closing.finally(() => setImmediate(() => app.quit()));
  });
  // Not awaited at top level: Electron is ready only once this module has been read to its end.
  void start().catch(giveUp);
} else {
  app.quit();
}
