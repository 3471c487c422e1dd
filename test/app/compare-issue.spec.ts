import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, root, step, test } from './window.ts';

test('two days are compared and saved; an issue goes out as two files of one state', async () => {
  test.setTimeout(90_000);
  // The samples of the lot again half a year later, every value 60 higher.
  const [head, ...rows] = readFileSync(join(root, 'samples', 'ordinary-lot', 'samples.csv'), 'utf8')
    .trim()
    .split(/\r?\n/);
  const later = rows.map((line) => {
    const cells = line.replace('2026-05', '2026-10').split(',');
    if (cells[15] !== 'blank' && cells[5] !== '') cells[5] = String(Number(cells[5]) + 60);
    return cells.join(',');
  });
  const october = join(folder, 'october.csv');
  writeFileSync(october, [head, ...later].join('\n'));
  const [change, issue] = [join(folder, 'change.pdf'), join(folder, 'lot-issue-1.pdf')];
  await open([join(folder, 'ordinary.gasplat'), october, change, issue]);
  await page.getByRole('button', { name: /^Ordinary lot/ }).click();
  await step('Field').click();
  await page
    .getByRole('button', { name: /^Import samples/ })
    .first()
    .click();
  await page.getByRole('button', { name: /^Import \d+ rows/ }).click();
  await expect(step('Field')).toContainText('44 samples');

  await step('Deliver').click();
  const form = page.getByRole('region', { name: 'Compare with another project or date' });
  await form.getByLabel('Compare with').selectOption('dates');
  await expect(form.getByLabel('Earlier survey up to')).toHaveValue('2026-05-12');
  await expect(form.getByLabel('Later survey from')).toHaveValue('2026-10-12');
  await form.getByRole('button', { name: 'Compare', exact: true }).click();
  await expect(form.getByText(/^Clear rise on \d+ % of the ground/)).toBeVisible({ timeout: 30_000 });
  await expect(form.getByRole('img', { name: /Change from 2026-05-12 to 2026-10-12/ })).toBeVisible();
  await form.scrollIntoViewIfNeeded();
  await look('10-deliver-compare');
  await form.getByRole('button', { name: 'Save change as PDF…' }).click();
  await expect.poll(() => existsSync(change), { timeout: 30_000 }).toBe(true);

  await page.getByRole('button', { name: 'Issue the report…' }).click();
  await page.getByRole('checkbox', { name: 'DOCX' }).check();
  await page.getByRole('button', { name: 'Issue 1 as PDF and DOCX…' }).scrollIntoViewIfNeeded();
  await look('10-deliver-formats');
  await page.getByRole('button', { name: 'Issue 1 as PDF and DOCX…' }).click();
  const issues = page.getByRole('list', { name: 'Issued reports' });
  await expect(issues).toContainText('Sent out as lot-issue-1.pdf, lot-issue-1.docx.', { timeout: 30_000 });
  expect(existsSync(join(folder, 'lot-issue-1.docx'))).toBe(true);
  await expect(issues.getByRole('button', { name: 'Save issue 1 again as PDF…' })).toBeVisible();
});
