/** A day typed in by hand: blank, wet, leaky, refused and doubled holes, without the mouse once the form is open. */
import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

test('samples are typed one after the other by keyboard, with interval values and their mean', async () => {
  test.setTimeout(90_000);
  await open([join(folder, 'hand.gasplat')]);
  await page.getByRole('button', { name: 'New project…' }).click();
  await page.getByLabel('Project name').fill('Hand');
  await page.getByRole('button', { name: 'Choose file and create' }).click();
  await step('Field').click();
  await page.getByRole('button', { name: 'Type in a sample' }).press('Enter');
  const form = page.getByRole('form', { name: 'Type in a sample' });
  const label = form.getByLabel('Probe', { exact: true });
  const taken = form.getByLabel('Taken, UTC');
  const enter = async (name: string, time: string, x: number) => {
    await expect(label).toBeFocused();
    await expect(label).toHaveValue(name);
    await expect(taken).toHaveValue('2026-05-12 ');
    await taken.fill(`2026-05-12 ${time}`);
    await form.getByLabel('x (east), m').fill(String(x));
    await form.getByLabel('y (north), m').fill('3');
  };

  // The blank before the first hole stands with it; the hole itself comes next.
  await expect(label).toBeFocused();
  await page.keyboard.type('H1');
  await form.getByLabel('Kind').selectOption('blank');
  await taken.fill('2026-05-12 07:05');
  await form.getByLabel('x (east), m').fill('2');
  await form.getByLabel('y (north), m').fill('3');
  await form.getByLabel('or not detected').fill('0.8');
  await page.keyboard.press('Enter');
  await expect(form).toContainText('H1 is entered');

  await expect(label).toHaveValue('H1');
  await page.keyboard.press('Enter');
  await expect(form).toContainText('Taken needs day and time');
  await taken.fill('2026-05-12 08:00');
  await form.getByRole('button', { name: 'Add a counting interval' }).press('Enter');
  for (const [i, cell] of ['0', '300', '', '5', ''].entries()) {
    await page.keyboard.type(cell);
    if (i < 3) await page.keyboard.press('Tab');
  }
  // Enter goes down; start and length follow from the row above.
  for (const value of ['19', '21', '20.5']) {
    await page.keyboard.press('Enter');
    await page.keyboard.type(value);
  }
  await expect(form).toContainText('No mean yet: It is not known when ingrowth is over');
  await form.getByLabel('Ingrowth over after, min').fill('5');
  const rows = form.getByRole('table', { name: /^Counting intervals/ });
  await expect(rows.getByLabel('Start of interval 4')).toHaveValue('900');
  await expect(rows.getByRole('cell', { name: 'no: ingrowth' })).toHaveCount(1);
  await expect(rows.getByRole('cell', { name: 'yes', exact: true })).toHaveCount(3);
  await expect(form).toContainText('Mean by live time: 20.2');
  await form.getByRole('button', { name: 'Enter sample' }).scrollIntoViewIfNeeded();
  await look('hand-1-intervals');
  await page.keyboard.press('Control+Enter');

  await enter('H2', '08:20', 10);
  await expect(rows.getByLabel('Value of interval 1')).toHaveValue('');
  await form.getByLabel('Water was seen').press('Space');
  await page.keyboard.press('Control+Enter');
  await enter('H3', '08:40', 18);
  await form.getByLabel('Refused: not driven').press('Space');
  await form.getByLabel('Depth, m').fill('0.3');
  await page.keyboard.press('Control+Enter');
  await enter('H4', '09:00', 26);
  await form.getByLabel('Radon, kBq/m³').fill('3');
  await form.getByLabel('Oxygen, %').fill('20.8');
  await form.getByLabel('Leak test').selectOption('failed');
  await page.keyboard.press('Control+Enter');
  await expect(label).toHaveValue('H5');
  await form.getByRole('button', { name: 'Close' }).press('Enter');
  await expect(page.getByRole('button', { name: 'Type in a sample' })).toBeFocused();
  await expect(page.getByText('5 typed in')).toBeVisible();

  await step('Reduce').click();
  const table = page.getByRole('table', { name: 'Samples' });
  await expect(table.getByRole('row', { name: /H3/ })).toContainText('refused');
  await expect(table.getByRole('row', { name: /H2/ })).toContainText('water');
  await table.getByRole('button', { name: 'H3' }).press('Enter');
  await page.keyboard.press('ArrowDown');
  await expect(table.getByRole('button', { name: 'H4' })).toBeFocused();
  await expect(page.getByRole('region', { name: 'Sample H4' })).toContainText('did not hold its vacuum');
  await look('hand-2-leaky');
  await page.getByRole('radio', { name: 'Leave out' }).check();
  await page.getByLabel('Reason').fill('leak at the collar');
  await page.keyboard.press('Enter');
  await expect(table.getByRole('row', { name: /H4/ })).toContainText('ruled');
  await expect(table.getByRole('button', { name: 'H4' })).toBeFocused();
  await table.getByText('H1', { exact: true }).click();
  await page.getByRole('button', { name: 'Change H1' }).click();
  await page.getByLabel('Value of interval 4').fill('50');
  await page.getByRole('button', { name: 'Change sample' }).press('Enter');
  await expect(page.getByRole('button', { name: 'Change H1' })).toBeFocused();
  await expect(table.getByRole('row', { name: /H1/ }).nth(1)).toContainText('30 ± 21');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(table.getByRole('row', { name: /H1/ }).nth(1)).toContainText('20.2');
});
