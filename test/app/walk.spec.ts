import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

test('a building is walked round, and the walk starts where the car stands, typed or pointed at', async () => {
  test.setTimeout(120_000);
  await open([join(folder, 'ordinary.gasplat')]);
  await page.getByRole('button', { name: /^Ordinary lot/ }).click();
  await step('Plan').click();
  await page.getByRole('button', { name: 'Add keep-out' }).click();
  await page.getByLabel('Keep-out', { exact: true }).fill('Barn');
  const goesRound = page.getByRole('checkbox', { name: /Walks go round it/ });
  await expect(goesRound).not.toBeChecked();
  await page.getByRole('radio', { name: 'Area' }).check();
  await expect(goesRound).toBeChecked();
  const corners = ['600018 5500004', '600022 5500004', '600022 5500034', '600018 5500034'];
  for (const [index, corner] of corners.entries()) {
    const [east = '', north = ''] = corner.split(' ');
    const next = page.getByLabel(`keep-out corner ${index + 1} east`);
    if (!(await next.isVisible())) await page.getByRole('button', { name: /Add (a )?corner/ }).click();
    await next.fill(east);
    await page.getByLabel(`keep-out corner ${index + 1} north`).fill(north);
  }
  await look('walk-keep-out');
  await page.getByRole('button', { name: 'Add this keep-out' }).click();
  await page.getByRole('radio', { name: 'Whole lot' }).check();
  await page.getByRole('button', { name: 'Lay out probes' }).click();
  await page.getByText('Depth, labels and working day').click();
  const grid = page.getByRole('region', { name: 'Probes to drive' });
  await grid.getByLabel('Walk starts at').selectOption('another place');
  await grid.getByLabel('East, m').fill('600052,5');
  await grid.getByLabel('North, m').fill('5500020');
  await grid.getByRole('button', { name: 'Set start' }).click();
  await expect(grid.getByText(/^Follows every change/)).toBeVisible({ timeout: 20_000 });
  await grid.getByLabel('Walk starts at').scrollIntoViewIfNeeded();
  await look('walk-start');
  await grid.getByRole('button', { name: 'Point at it on the map' }).click();
  const canvas = await page.getByRole('region', { name: 'Map' }).locator('canvas').first().boundingBox();
  if (!canvas) throw new Error('The map has no canvas.');
  await page.mouse.click(canvas.x + 0.5 * canvas.width, canvas.y + 0.12 * canvas.height);
  await expect(grid.getByLabel('East, m')).not.toHaveValue('600052.500');
  await grid.getByLabel('Walk starts at').selectOption({ index: 1 });
  await expect(grid.getByLabel('East, m')).toHaveCount(0);
});
