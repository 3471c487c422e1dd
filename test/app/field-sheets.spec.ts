import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

test('a number of probes is chosen on the curve, planned, and goes out on paper and as tables', async () => {
  test.setTimeout(180_000);
  const pdf = join(folder, 'sheets.pdf');
  const back = join(folder, 'return.csv');
  const stakes = join(folder, 'stakes.csv');
  const filled = join(folder, 'filled.csv');
  await open([join(folder, 'ordinary.gasplat'), pdf, back, stakes, filled]);
  await page.getByRole('button', { name: /^Ordinary lot/ }).click();
  await step('Plan').click();
  await page.getByText('How many probes: error of the map against hours').click();
  await page.getByRole('button', { name: 'Work out the curve' }).click();
  const slider = page.getByRole('slider', { name: 'Number of probes' });
  await expect(slider).toBeVisible({ timeout: 30_000 });
  await slider.focus();
  const before = Number(await slider.getAttribute('aria-valuenow'));
  await page.keyboard.press('ArrowRight');
  const chosen = Number(await slider.getAttribute('aria-valuenow'));
  expect(chosen).toBeGreaterThan(before);
  await expect(page.getByLabel('Probes', { exact: true })).toHaveValue(String(chosen));
  await slider.scrollIntoViewIfNeeded();
  await look('spacing-curve');

  await page.getByRole('button', { name: 'Lay out probes' }).click();
  await page.getByRole('button', { name: `Plan ${chosen} probes` }).click();
  const sheets = page.getByRole('region', { name: 'Field sheets' });
  await expect(sheets).toContainText(`${chosen} probes in walking order`, { timeout: 15_000 });
  await sheets.getByRole('button', { name: 'Preview' }).click();
  await expect(sheets.getByRole('img', { name: /page 1 of/ })).toBeVisible({ timeout: 15_000 });
  await sheets.getByRole('button', { name: 'Next page' }).click();
  await expect(sheets.getByRole('img', { name: /page 2 of/ })).toBeVisible();
  await sheets.scrollIntoViewIfNeeded();
  await look('field-sheets');

  await sheets.getByRole('button', { name: 'Save sheets…' }).click();
  await expect(sheets).toContainText('sheets.pdf');
  expect(readFileSync(pdf).subarray(0, 5).toString()).toBe('%PDF-');
  await sheets.getByRole('button', { name: 'Save return table…' }).click();
  await expect(sheets).toContainText('return.csv');
  const rows = readFileSync(back, 'utf8')
    .split('\r\n')
    .filter((line) => /^..-....-.,/.test(line));
  expect(rows).toHaveLength(chosen);
  await sheets.getByRole('button', { name: 'Stake-out CSV…' }).click();
  await expect(sheets).toContainText('stakes.csv');
  expect(statSync(stakes).size).toBeGreaterThan(200);

  // Three rows filled in by hand, one of them with a slip in its code.
  const head =
    readFileSync(back, 'utf8')
      .split('\r\n')
      .find((line) => line.startsWith('Code,')) ?? '';
  const at = head.split(',').indexOf('Radon (kBq/m3)');
  const crew = rows.map((row, i) => {
    const cells = row.split(',');
    if (i < 3) cells[at] = String(30 + i);
    if (i === 2) cells[0] = `${cells[0]?.slice(0, -1)}0`;
    return cells.join(',');
  });
  writeFileSync(filled, [head, ...crew].join('\n'));
  await step('Field').click();
  await page
    .getByRole('button', { name: /^Import samples/ })
    .first()
    .click();
  await expect(page.getByRole('table', { name: 'Column mapping' })).toBeVisible();
  await expect(page.getByText(/mistyped, as its check character shows: perhaps/)).toBeVisible();
  await look('return-table');
  await page.getByRole('button', { name: 'Import 2 rows' }).click();
  await expect(step('Field')).toContainText('24 samples');
});
