import { defineConfig } from '@playwright/test';

export default defineConfig({
  testDir: 'test/app',
  testMatch: '**/*.spec.ts',
  outputDir: 'artefacts/app',
  // One window at a time: the tests share the screen, its focus and two cores.
  workers: 1,
  timeout: 60_000,
  // A window that never closes must not keep the whole run.
  globalTimeout: 30 * 60_000,
  forbidOnly: Boolean(process.env['CI']),
  reporter: [['list'], ['json', { outputFile: 'artefacts/app-results.json' }]],
  use: { trace: 'retain-on-failure', screenshot: 'only-on-failure' },
});
