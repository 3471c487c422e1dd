/** The built program in real Electron, for tests of the window: one a test, closed after it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { _electron, test as base, type ElectronApplication, expect, type Page } from '@playwright/test';
import { electronRuntime } from '../../scripts/lib/electron-runtime.mjs';

export const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const axeSource = readFileSync(join(root, 'node_modules', 'axe-core', 'axe.min.js'), 'utf8');

/** Temporary folder of the running test. */
export let folder: string;
export let app: ElectronApplication;
export let page: Page;

/** A fixture, since hooks of a shared module would hold for the first file that imports it only. */
export const test = base.extend<{ cleanUp: undefined }>({
  cleanUp: [
    // biome-ignore lint/correctness/noEmptyPattern: Playwright reads the parameter's pattern
    async ({}, use) => {
      folder = mkdtempSync(join(tmpdir(), 'gasplat-window-'));
      await use(undefined);
      await app?.close();
      rmSync(folder, { recursive: true, force: true });
    },
    { auto: true },
  ],
});

/** @param answers - what each file dialog is answered with, in order */
export async function open(answers: readonly string[], ...args: string[]): Promise<void> {
  const dialogs = join(folder, 'dialogs.json');
  writeFileSync(dialogs, JSON.stringify(answers));
  const { ELECTRON_RUN_AS_NODE: _, ...own } = process.env;
  app = await _electron.launch({
    executablePath: electronRuntime().path,
    args: [
      ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
      '--use-gl=angle',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
      `--user-data-dir=${join(folder, 'user')}`,
      root,
      ...args,
    ],
    env: {
      ...(own as Record<string, string>),
      GASPLAT_NODE: process.execPath,
      GASPLAT_TEST_DIALOGS: dialogs,
    },
  });
  page = await app.firstWindow();
}

/** Keeps a screenshot in artefacts/screens and lets axe look at the page. */
export async function look(name: string): Promise<void> {
  await page.screenshot({ path: join(root, 'artefacts', 'screens', `${name}.png`) });
  await page.evaluate(axeSource);
  const found = await page.evaluate(async () => {
    const { axe } = window as unknown as {
      axe: { run(): Promise<{ violations: { id: string; impact: string; nodes: { html: string }[] }[] }> };
    };
    return (await axe.run()).violations
      .filter((v) => v.impact === 'serious' || v.impact === 'critical')
      .map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(' | ')}`);
  });
  expect(found, `axe on ${name}`).toEqual([]);
}

export const step = (name: string) =>
  page.getByRole('navigation', { name: 'Steps' }).getByRole('button', { name: new RegExp(`^${name}`) });
