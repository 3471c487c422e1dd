/** What the window may ask of the shell. Every call is checked for who sends it and what it brings. */
import { isAbsolute } from 'node:path';
import { type BrowserWindow, type IpcMain, type IpcMainInvokeEvent, shell } from 'electron';
import { z } from 'zod';
import { type RequestEnvelope, requestEnvelopeSchema } from '../core/contract/envelope.ts';
import type { OpenDialogOptions, SaveDialogOptions, ShellBridge } from '../core/contract/shell.ts';
import { AppError } from '../core/errors.ts';
import { CHANNELS } from './channels.ts';
import type { Dialogs } from './dialogs.ts';
import type { EngineHost } from './engine-host.ts';
import { isOwnUrl } from './protocol.ts';

const openOptionsSchema = z.object({
  title: z.string().max(200),
  filters: z
    .array(z.object({ name: z.string().max(100), extensions: z.array(z.string().max(20)).max(30) }))
    .max(30),
});
const saveOptionsSchema = openOptionsSchema.extend({ suggestedName: z.string().max(255) });

export interface IpcOptions {
  readonly window: BrowserWindow;
  readonly host: EngineHost;
  readonly dialogs: Dialogs;
  readonly startUp: ShellBridge['startUp'];
}

/** Answers the window's calls and passes the engine's events on to it. */
export function connectWindow(ipc: IpcMain, { window, host, dialogs, startUp }: IpcOptions): void {
  function answer<I, O>(channel: string, schema: z.ZodType<I>, run: (input: I) => O | Promise<O>): void {
    ipc.handle(channel, (event, input: unknown) => {
      refuseStrangers(window, event);
      const parsed = schema.safeParse(input);
      if (!parsed.success) throw new AppError('BAD_USAGE', `${channel}: ${parsed.error.issues[0]?.message}`);
      return run(parsed.data);
    });
  }

  answer(CHANNELS.send, requestEnvelopeSchema, (request) => host.send(request as RequestEnvelope));
  answer(CHANNELS.chooseOpen, openOptionsSchema, (options: OpenDialogOptions) =>
    dialogs.chooseOpen(window, options),
  );
  answer(CHANNELS.chooseSave, saveOptionsSchema, (options: SaveDialogOptions) =>
    dialogs.chooseSave(window, options),
  );
  answer(CHANNELS.reveal, z.string().max(4096).refine(isAbsolute, 'not an absolute path'), (path) =>
    shell.showItemInFolder(path),
  );
  answer(CHANNELS.startUp, z.undefined(), startUp);

  window.webContents.on('did-start-navigation', ({ isMainFrame, isSameDocument }) => {
    if (isMainFrame && !isSameDocument) host.abandon();
  });
  host.onEvent((event) => {
    if (!window.isDestroyed()) window.webContents.send(CHANNELS.event, event);
  });
}

/** @throws AppError for a call that does not come from the main frame of our window, showing our page */
function refuseStrangers(window: BrowserWindow, { sender, senderFrame }: IpcMainInvokeEvent): void {
  const ours =
    sender === window.webContents &&
    senderFrame !== null &&
    senderFrame === sender.mainFrame &&
    isOwnUrl(senderFrame.url);
  if (!ours) throw new AppError('BAD_USAGE', `Refused: a call from ${senderFrame?.url ?? 'a closed frame'}`);
}
