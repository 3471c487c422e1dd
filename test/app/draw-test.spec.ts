import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, root, step, test } from './window.ts';

function gasplat(...args: string[]): void {
  const main = join(root, 'core', 'cli', 'main.ts');
  const run = spawnSync(process.execPath, [main, ...args], { encoding: 'utf8', cwd: folder });
  expect(run.stderr).toBe('');
}

test('a draw is set up once, and every sample with flow and suction tells its permeability', async () => {
  test.setTimeout(120_000);
  const head =
    'Probe,Easting (m),Northing (m),Depth (m),Radon (kBq/m3),u (kBq/m3),Flow (mL/min),Suction (Pa),Permeability class';
  const rows = Array.from({ length: 16 }, (_, i) => {
    const ground = i === 1 ? '0,20000,' : i === 2 ? '1200,2000,high' : '1200,2000,';
    return `P${i + 1},${600000 + 5 * i},5500000,0.8,${20 + i},1,${ground}`;
  });
  writeFileSync(join(folder, 's.csv'), [head, ...rows].join('\n'));
  const path = join(folder, 'a.gasplat');
  gasplat('new', path, '--name', 'Draws', '--crs', 'EPSG:32633');
  gasplat('import', path, 's.csv', '--quiet');
  await open([], path);
  await step('Reduce').click();
  await page.getByText('Permeability from flow and suction: not set up').click();
  const use = page.getByRole('button', { name: 'Use for all samples' });
  await expect(use).toBeDisabled();
  await page.getByLabel('Length, mm').fill('50');
  await page.getByLabel('Width, mm').fill('12');
  await page.getByLabel('Suction, Pa', { exact: true }).fill('30');
  await page.getByLabel('at flow, mL/min').fill('1000');
  await use.scrollIntoViewIfNeeded();
  await look('31-draw-test-form');
  await use.click();
  await expect(page.getByText('Permeability from flow and suction: in use')).toBeVisible();

  await page.getByRole('button', { name: 'P1', exact: true }).click();
  // 1.750e-5 x 2e-5 / (0.149 x 1964) and a little less: gas at 10 C that thins on its way.
  await expect(page.getByText(/1\.2 × 10⁻¹² m², u 1\d %/)).toBeVisible();
  await page.getByText('Permeability from the draw', { exact: true }).scrollIntoViewIfNeeded();
  await look('32-draw-test-sample');
  await page.getByRole('button', { name: 'P2', exact: true }).click();
  await expect(page.getByText(/less than .* enters no class/)).toBeVisible();
  await page.getByRole('button', { name: 'P3', exact: true }).click();
  await expect(
    page.getByText(/Differs from the permeability given for the probe \(class high\)/),
  ).toBeVisible();
  await page.getByText('Permeability from the draw', { exact: true }).scrollIntoViewIfNeeded();
  await page.screenshot({ path: join(root, 'artefacts', 'screens', '33-draw-test-differs.png') });
});
