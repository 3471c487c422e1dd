import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

test('a part of the sheet is pulled, resized, nudged, set by numbers, hidden, undone and reset', async () => {
  test.setTimeout(120_000);
  await open([join(folder, 'ordinary.gasplat')]);
  await page.getByRole('button', { name: /^Ordinary lot/ }).click();
  await step('Deliver').click();
  await page.getByLabel('Arrange the parts of this sheet').check();
  const legend = page.getByRole('button', { name: /^Legend: / });
  await expect(legend).toBeVisible({ timeout: 30_000 });
  await legend.scrollIntoViewIfNeeded();
  const box = await legend.boundingBox();
  if (box === null) throw new Error('the legend has no outline');
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 2 + 6, box.y + box.height / 2 - 150, { steps: 6 });
  await look('arrange-sheet-drag');
  await page.mouse.up();
  await expect(page.getByRole('option', { name: 'Legend (moved)' })).toBeAttached();
  await expect(page.getByRole('list', { name: 'Remarks on the sheet' })).toContainText('Map and Legend');

  const across = page.getByLabel('From the left, mm');
  const before = Number(await across.inputValue());
  await legend.focus();
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('Shift+ArrowLeft');
  await expect(across).toHaveValue(String(Math.round((before - 11) * 10) / 10));
  await page.getByLabel('Width, mm').fill('70');
  await page.getByLabel('Width, mm').press('Enter');
  await expect(page.getByRole('button', { name: /^Legend: .* 70 by / })).toBeVisible();
  await look('arrange-sheet');
  const closing = page.getByRole('button', { name: 'Close the gaps' });
  await closing.click();
  await expect(closing).toBeDisabled();
  await look('arrange-sheet-closed');
  await page.keyboard.press('Control+z');
  await expect(closing).toBeEnabled();

  await page.getByLabel('Shown on the sheet').click();
  await expect(page.getByText('Not shown: Legend.')).toBeVisible();
  await page.keyboard.press('Control+z');
  await expect(page.getByText('Not shown: Legend.')).toBeHidden();
  await page.getByRole('combobox', { name: 'Part' }).selectOption({ label: 'Cautions' });
  await expect(page.getByLabel('Always shown on the sheet')).toBeDisabled();
  await page.getByRole('button', { name: 'All parts as in the template' }).click();
  await expect(page.getByRole('button', { name: 'All parts as in the template' })).toBeDisabled();
  await page.getByRole('table', { name: 'Record' }).scrollIntoViewIfNeeded();
  await expect(page.getByRole('table', { name: 'Record' })).toContainText(
    'Place legend: map sheet, A4 portrait',
  );
});
