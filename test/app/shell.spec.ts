/**
 * The shell in real Electron: what the window may do, what it may not, and the engine behind it.
 * Most tests use a page and an engine of their own (shell-page/, ../electron/small-engine.ts). The utility-process
 * host is tested with that store-free engine only, because the Electron that npm carries (33) cannot load the
 * store's native module; there the program itself runs its engine as a child process.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { _electron, type ElectronApplication, expect, type Page, test } from '@playwright/test';
import { build } from 'vite';
import type { EngineEvent } from '../../core/contract/envelope.ts';
import type { ProjectView } from '../../core/contract/model.ts';
import type { ShellBridge } from '../../core/contract/shell.ts';
import { electronRuntime } from '../../scripts/lib/electron-runtime.mjs';

declare global {
  interface Window {
    readonly gasplat: ShellBridge;
    seen: { events: EngineEvent[]; violations: string[]; evaluated: string };
    ran?: boolean;
  }
}

const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const pageFolder = join(root, 'test', 'app', 'shell-page');
const runtime = electronRuntime();

let scratch: string;
let smallEngine: string;
let app: ElectronApplication | null = null;
/** A web server that must never be asked for anything. */
let outside: { server: Server; url: string; hits: string[] };

test.beforeAll(async () => {
  // Inside the clone, because a bundle finds its packages from where it lies.
  scratch = mkdtempSync(join(root, 'node_modules', '.cache', 'shell-spec-'));
  await build({
    root,
    configFile: false,
    logLevel: 'warn',
    publicDir: false,
    build: {
      ssr: true,
      outDir: scratch,
      target: 'node20',
      minify: false,
      rolldownOptions: {
        input: { 'small-engine': 'test/electron/small-engine.ts', worker: 'core/jobs/worker.ts' },
        output: { format: 'es', entryFileNames: '[name].js' },
      },
    },
  });
  writeFileSync(join(scratch, 'package.json'), '{"type":"module"}');
  smallEngine = join(scratch, 'small-engine.js');
  const hits: string[] = [];
  const server = createServer((request, response) => {
    hits.push(`${request.method} ${request.url}`);
    response.setHeader('access-control-allow-origin', '*');
    response.end('reached');
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  outside = { server, url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, hits };
});

test.afterAll(() => {
  outside.server.close();
  rmSync(scratch, { recursive: true, force: true });
});

test.afterEach(async () => {
  await app?.close();
  app = null;
});

function argumentsFor(userData: string, appArguments: readonly string[]): string[] {
  return [
    ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
    `--user-data-dir=${userData}`,
    root,
    ...appArguments,
  ];
}

function environment(extra: Record<string, string> = {}): Record<string, string> {
  const { ELECTRON_RUN_AS_NODE: _, ...own } = process.env;
  return { ...(own as Record<string, string>), GASPLAT_NODE: process.execPath, ...extra };
}

async function open(extra: Record<string, string> = {}, ...appArguments: string[]) {
  const userData = mkdtempSync(join(scratch, 'user-'));
  app = await _electron.launch({
    executablePath: runtime.path,
    args: argumentsFor(userData, appArguments),
    env: environment({ GASPLAT_TEST_RENDERER: pageFolder, GASPLAT_TEST_ENGINE: smallEngine, ...extra }),
  });
  const page = await app.firstWindow();
  await page.waitForLoadState('load');
  return { app, page, userData };
}

const request = (page: Page, name: string, input: unknown, id: number) =>
  page.evaluate(
    ([n, i, requestId]) =>
      window.gasplat.send({ kind: 'request', id: requestId, name: n, input: i } as never),
    [name, input, id] as const,
  );

test.describe('the window', () => {
  test('shows our page and has nothing of Node but the bridge', async () => {
    const { page } = await open();
    expect(page.url()).toBe('app://bundle/index.html');
    await expect(page.getByRole('heading')).toHaveText('Page for testing the shell');
    const found = await page.evaluate(() => ({
      node: ['require', 'process', 'module', 'Buffer', 'global', '__dirname'].filter((n) => n in globalThis),
      bridge: Object.keys(window.gasplat).sort(),
      secure: window.isSecureContext,
    }));
    expect(found).toEqual({
      node: [],
      bridge: ['chooseOpen', 'chooseSave', 'onEvent', 'reveal', 'send', 'startUp'],
      secure: true,
    });
  });

  test('runs its page sandboxed and isolated', async () => {
    const { app } = await open();
    const preferences = await app.evaluate(({ BrowserWindow }) => {
      const contents = BrowserWindow.getAllWindows()[0]?.webContents;
      // Not in the public types: the preferences the window really got.
      const got = contents as unknown as { getLastWebPreferences(): Record<string, unknown> };
      return got.getLastWebPreferences();
    });
    expect(preferences).toMatchObject({
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webviewTag: false,
    });
  });

  test('runs no code but our files', async () => {
    const { page } = await open();
    const outcome = await page.evaluate(async () => {
      const inline = document.createElement('script');
      inline.textContent = 'window.ran = true';
      document.head.append(inline);
      document.body.insertAdjacentHTML('beforeend', '<img src="x" onerror="window.ran = true">');
      await new Promise((resolve) => setTimeout(resolve, 300));
      return { ran: window.ran ?? false, ...window.seen };
    });
    expect(outcome.ran).toBe(false);
    expect(outcome.evaluated).toBe('EvalError');
    expect(outcome.violations).toEqual(expect.arrayContaining(['script-src-elem', 'script-src-attr']));
    const response = await page.evaluate(async () => {
      const { headers } = await fetch('index.html');
      return {
        policy: headers.get('content-security-policy'),
        nosniff: headers.get('x-content-type-options'),
      };
    });
    expect(response.policy).toContain("default-src 'none'");
    expect(response.policy).not.toMatch(/unsafe|\*/);
    expect(response.nosniff).toBe('nosniff');
  });

  test('reaches nothing outside, from the page or past its policy', async () => {
    const { app, page } = await open();
    outside.hits.length = 0;
    const fromPage = await page.evaluate(async (url) => {
      const fetched = await fetch(`${url}/fetch`).then(
        () => 'answered',
        () => 'refused',
      );
      const image = new Image();
      image.src = `${url}/image`;
      navigator.sendBeacon(`${url}/beacon`, 'x');
      const frame = document.createElement('iframe');
      frame.src = `${url}/frame`;
      document.body.append(frame);
      const opened = window.open(`${url}/window`);
      location.href = `${url}/navigation`;
      await new Promise((resolve) => setTimeout(resolve, 500));
      return { fetched, opened: opened === null, violations: window.seen.violations };
    }, outside.url);
    expect(fromPage).toMatchObject({ fetched: 'refused', opened: true });
    expect(fromPage.violations).toEqual(expect.arrayContaining(['connect-src', 'img-src', 'frame-src']));
    expect(page.url()).toBe('app://bundle/index.html');
    expect(app.windows()).toHaveLength(1);
    // A page that has no policy at all: the session refuses all the same.
    const pastPolicy = await app.evaluate(async ({ BrowserWindow }, url) => {
      const other = new BrowserWindow({ show: false });
      await other.loadURL('data:text/html,<p>no policy</p>');
      const result = await other.webContents.executeJavaScript(
        `fetch(${JSON.stringify(`${url}/bare`)}).then(() => 'answered', () => 'refused')`,
      );
      other.destroy();
      return result as string;
    }, outside.url);
    expect(pastPolicy).toBe('refused');
    expect(outside.hits).toEqual([]);
  });

  test('reads no file outside the page folder', async () => {
    const { page } = await open();
    const statuses = await page.evaluate(async () => {
      const paths = [
        'index.html',
        '..%2f..%2f..%2fpackage.json',
        '%2e%2e%2f%2e%2e%2f%2e%2e%2fpackage.json',
        '..%5c..%5c..%5cpackage.json',
        '../../../package.json',
      ];
      return Promise.all(
        paths.map((path) =>
          fetch(`app://bundle/${path}`).then(
            (r) => r.status,
            () => 0,
          ),
        ),
      );
    });
    expect(statuses).toEqual([200, 404, 404, 404, 404]);
    const fileRead = await page.evaluate(() =>
      fetch('file:///etc/hostname').then(
        () => 'read',
        () => 'refused',
      ),
    );
    expect(fileRead).toBe('refused');
  });

  test('gets no permission', async () => {
    const { page } = await open();
    const states = await page.evaluate(async () => {
      const names = ['geolocation', 'notifications', 'camera', 'microphone'] as PermissionName[];
      return Promise.all(names.map(async (name) => (await navigator.permissions.query({ name })).state));
    });
    expect(states).toEqual(['denied', 'denied', 'denied', 'denied']);
    const asked = await page.evaluate(() => Notification.requestPermission());
    expect(asked).toBe('denied');
  });
});

test.describe('a page that goes', () => {
  test('and comes back finds its old jobs stopped and its numbers free', async () => {
    const { page } = await open();
    await page.evaluate(() => {
      void window.gasplat.send({ kind: 'request', id: 1, name: 'surface.compute', input: {} });
    });
    await expect
      .poll(() => page.evaluate(() => window.seen.events.some((e) => e.kind === 'progress')))
      .toBe(true);
    await page.reload();
    expect(await request(page, 'crs.search', { text: 'new' }, 1)).toMatchObject({ output: { echo: 'new' } });
    await expect
      .poll(() => request(page, 'project.view', {}, 2))
      .toMatchObject({ output: { jobsRunning: 0 } });
  });

  test('by a crash is offered again', async () => {
    const { app } = await open();
    const title = await app.evaluate(async ({ BrowserWindow, dialog }) => {
      const contents = (BrowserWindow.getAllWindows()[0] as Electron.BrowserWindow).webContents;
      const asked = new Promise<string>((resolve) => {
        const answer = (...args: unknown[]) => {
          resolve((args.at(-1) as Electron.MessageBoxOptions).message);
          return Promise.resolve({ response: 0, checkboxChecked: false });
        };
        Object.assign(dialog, { showMessageBox: answer });
      });
      const loaded = new Promise<void>((resolve) => contents.once('did-finish-load', () => resolve()));
      contents.forcefullyCrashRenderer();
      await loaded;
      return [await asked, await contents.executeJavaScript('document.title')];
    });
    expect(title).toEqual([
      expect.stringMatching(/^The window stopped working \((crashed|killed)\)\.$/),
      'Page for testing the shell',
    ]);
  });
});

test.describe('the bridge', () => {
  test('refuses callers that are not our page, and messages that are none', async () => {
    const { app, page } = await open();
    const stranger = await app.evaluate(
      async ({ BrowserWindow }, preload) => {
        const other = new BrowserWindow({ show: false, webPreferences: { preload, sandbox: true } });
        await other.loadURL('data:text/html,<p>stranger</p>');
        const said = await other.webContents.executeJavaScript(
          `window.gasplat.startUp().then(() => 'answered', (e) => e.message)`,
        );
        other.destroy();
        return said as string;
      },
      join(root, 'dist', 'preload.cjs'),
    );
    expect(stranger).toContain('Refused: a call from data:');
    const malformed = await page.evaluate(() =>
      window.gasplat.send({ kind: 'request', id: -1, name: 'engine.info', input: {} } as never).then(
        () => 'answered',
        (e: Error) => e.message,
      ),
    );
    expect(malformed).toContain('gasplat:send');
  });

  test('gives the paths queued for tests instead of dialogs, in order', async () => {
    const queue = join(scratch, 'dialogs.json');
    writeFileSync(queue, JSON.stringify(['/data/points.csv', null]));
    const { page } = await open({ GASPLAT_TEST_DIALOGS: queue });
    const chosen = await page.evaluate(async () => {
      const filters = [{ name: 'Samples', extensions: ['csv'] }];
      const first = await window.gasplat.chooseOpen({ title: 'Samples', filters });
      const second = await window.gasplat.chooseSave({ title: 'Figure', filters, suggestedName: 'f.pdf' });
      const third = await window.gasplat
        .chooseOpen({ title: 'Unexpected', filters })
        .catch((e: Error) => e.message);
      return { first, second, third };
    });
    expect(chosen).toMatchObject({ first: '/data/points.csv', second: null });
    expect(chosen.third).toContain('No path is queued for the dialog "Unexpected"');
    expect(JSON.parse(readFileSync(queue, 'utf8'))).toEqual([]);
  });

  test('tells the page what the command line asked for', async () => {
    const { page } = await open({}, 'lot-7.gasplat');
    expect(await page.evaluate(() => window.gasplat.startUp())).toEqual({
      openPath: join(process.cwd(), 'lot-7.gasplat'),
      demo: false,
    });
  });

  test('hands a second start to the first', async () => {
    const { app, page, userData } = await open({}, '--demo');
    expect(await page.evaluate(() => window.gasplat.startUp())).toMatchObject({
      demo: true,
      openPath: expect.stringMatching(/demo\.gasplat$/),
    });
    // Made once: a page that asks again opens what is there.
    expect(await page.evaluate(() => window.gasplat.startUp())).toMatchObject({ demo: false });
    const reloaded = page.waitForEvent('load');
    const second = spawn(runtime.path, argumentsFor(userData, ['later.gasplat']), {
      env: environment(),
      stdio: 'ignore',
    });
    const code = await new Promise((resolve) => second.once('exit', resolve));
    expect(code).toBe(0);
    await reloaded;
    expect(app.windows()).toHaveLength(1);
    expect(await page.evaluate(() => window.gasplat.startUp())).toEqual({
      openPath: join(process.cwd(), 'later.gasplat'),
      demo: false,
    });
  });
});

for (const kind of ['child', 'utility'] as const) {
  test.describe(`the engine as a ${kind} process, without a store`, () => {
    test('answers, also while a job runs, and sends arrays and progress', async () => {
      const { page } = await open({ GASPLAT_TEST_HOST: kind });
      expect(await request(page, 'engine.info', {}, 1)).toMatchObject({
        ok: true,
        output: { host: `${kind} process` },
      });
      const outcome = await page.evaluate(async () => {
        const order: string[] = [];
        const ask = (id: number, name: string) =>
          window.gasplat.send({ kind: 'request', id, name, input: {} } as never);
        const surface = ask(2, 'surface.compute').then((reply) => {
          order.push('surface');
          return reply;
        });
        const has = (k: string) => window.seen.events.some((event) => event.kind === k);
        while (!has('progress')) await new Promise((resolve) => setTimeout(resolve, 5));
        await ask(3, 'engine.info');
        order.push('info');
        const reply = await surface;
        const estimate = reply.ok ? (reply.output as unknown as { estimate: Float64Array }).estimate : null;
        return {
          order,
          isArray: estimate instanceof Float64Array,
          finite: estimate?.every(Number.isFinite),
          shares: window.seen.events.flatMap((e) => (e.kind === 'progress' ? [e.done] : [])),
        };
      });
      expect(outcome).toMatchObject({ order: ['info', 'surface'], isArray: true, finite: true });
      expect(outcome.shares).toEqual([...outcome.shares].sort((a, b) => a - b));
    });

    test('that dies is said to the page and started again', async () => {
      const { page } = await open({ GASPLAT_TEST_HOST: kind });
      expect(await request(page, 'record.undo', {}, 1)).toMatchObject({
        ok: false,
        error: { code: 'INTERNAL', message: expect.stringContaining('ended unexpectedly') },
      });
      expect(await request(page, 'engine.info', {}, 2)).toMatchObject({ ok: true });
      const events = await page.evaluate(() => window.seen.events);
      expect(events).toContainEqual({ kind: 'ready', host: `${kind} process` });
    });

    test('ends with the program', async () => {
      const { app, page } = await open({ GASPLAT_TEST_HOST: kind });
      const reply = await request(page, 'engine.info', {}, 1);
      const { pid } = (reply as unknown as { output: { pid: number } }).output;
      expect(isAlive(pid)).toBe(true);
      await app.close();
      await expect.poll(() => isAlive(pid)).toBe(false);
    });
  });
}

test('the program as it is makes the demo, opens it in its own page, and answers while it computes', async () => {
  app = await _electron.launch({
    executablePath: runtime.path,
    args: argumentsFor(mkdtempSync(join(scratch, 'user-')), ['--demo']),
    env: environment(),
  });
  const page = await app.firstWindow();
  const refused: string[] = [];
  page.on('console', (message) => {
    if (/Content Security Policy|Refused to/.test(message.text())) refused.push(message.text());
  });
  await page.waitForLoadState('load');
  // Far from the numbers the page itself uses.
  const id = 1_000_000_000;
  await expect
    .poll(() => request(page, 'project.view', {}, id), { timeout: 20_000 })
    .toMatchObject({ ok: true, output: { isDemo: true } });
  const info = await request(page, 'engine.info', {}, id);
  expect(info).toMatchObject({
    ok: true,
    output: { host: expect.stringMatching(/^(child|utility) process$/) },
  });
  const order = await page.evaluate(async (first) => {
    const done: string[] = [];
    const ask = async (n: number, name: string, input: unknown) => {
      const reply = await window.gasplat.send({ kind: 'request', id: first + n, name, input } as never);
      done.push(reply.ok ? name : reply.error.message);
      return (reply.ok ? reply.output : null) as ProjectView;
    };
    // Other cells than any surface the page may have asked for: nothing kept can answer.
    const { settings } = await ask(1, 'project.view', {});
    await ask(2, 'settings.set', { settings: { ...settings, surface: { ...settings.surface, cellM: 0.7 } } });
    await Promise.all([ask(3, 'surface.compute', {}), ask(4, 'engine.info', {})]);
    return done;
  }, id);
  expect(order).toEqual(['project.view', 'settings.set', 'engine.info', 'surface.compute']);
  expect(refused).toEqual([]);
});

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}
