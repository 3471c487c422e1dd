import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

test('a footprint is dragged over live statistics, turned by its handle, mirrored, kept twice and compared', async () => {
  test.setTimeout(90_000);
  await open([join(folder, 'ordinary.gasplat')]);
  await page.getByRole('button', { name: /^Ordinary lot/ }).click();
  await step('Site').click();
  const live = page.getByRole('table', { name: 'Ground under the footprint' });
  await expect(page.getByText(/The ground is not ready/).first()).toBeVisible();
  await expect(live).toBeVisible({ timeout: 60_000 });
  const cell = (row: RegExp, column: number) =>
    live.getByRole('row', { name: row }).getByRole('cell').nth(column);
  await expect(cell(/^Estimate/, 0)).toHaveText(/^\d/);
  await expect(cell(/^Estimate/, 1)).toHaveText('–');
  await expect(page.getByText('No class for this place', { exact: true })).toBeVisible();

  const box = await page.getByRole('region', { name: 'Map' }).locator('canvas').first().boundingBox();
  if (!box) throw new Error('The map has no canvas.');
  // The sample's footprint lies over the middle of its lot.
  const [x, y] = [box.x + box.width * 0.48, box.y + box.height * 0.5];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 60, y + 20, { steps: 6 });
  // Told while the hand still holds it.
  await expect(cell(/^Estimate/, 1)).toHaveText(/^\d/);
  await expect(page.getByText(/^Moved \d/)).toBeVisible();
  await look('siting-dragged');
  await page.mouse.up();
  await page.getByRole('button', { name: 'Keep beside the others' }).click();
  const kept = page.getByRole('table', { name: 'Kept placements' });
  await expect(kept.getByRole('row')).toHaveCount(3);

  await page.getByLabel('Turn left, °').fill('30');
  await page.getByLabel('Mirrored', { exact: true }).check();
  const beforeTurn = await cell(/^Mean/, 1).textContent();
  await page.getByLabel('East, m', { exact: true }).fill('-9');
  await expect(cell(/^Mean/, 1)).not.toHaveText(beforeTurn ?? '');
  await page.getByRole('button', { name: 'Keep and choose' }).click();
  await expect(kept.getByRole('radio', { name: 'Choose placement B' })).toBeChecked();
  const differences = page.getByRole('list', { name: 'What the kept placements differ by' });
  await expect(differences.getByRole('listitem')).toHaveCount(3, { timeout: 20_000 });
  await differences.scrollIntoViewIfNeeded();
  await look('siting-kept');
  await kept.getByRole('radio', { name: 'Choose placement A' }).click();
  await expect(kept.getByRole('radio', { name: 'Choose placement A' })).toBeChecked();
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(kept.getByRole('radio', { name: 'Choose placement B' })).toBeChecked();

  await page.getByText('Another outline, or none').click();
  await page.getByRole('combobox', { name: 'Outline' }).selectOption('U');
  await page.getByRole('button', { name: 'Put it on the lot' }).click();
  await expect(kept).toBeHidden();
  await page.getByText('No class for this place', { exact: true }).scrollIntoViewIfNeeded();
  await look('siting-shape');

  await step('Plan').click();
  await page.getByLabel('Lowers').selectOption('class');
  await page.getByRole('button', { name: 'Propose next probes' }).click();
  await expect(page.getByText(/The chance that the ground is of another class/)).toBeVisible({
    timeout: 60_000,
  });
  await page.getByRole('button', { name: 'Plan 3 added probes' }).click();
  await expect(page.getByRole('complementary', { name: 'Legend' })).toContainText(
    'Added after the first results',
  );
  await step('Classify').click();
  await expect(page.getByText('Without 3 added probes')).toBeVisible({ timeout: 30_000 });
  await look('siting-added');
});
