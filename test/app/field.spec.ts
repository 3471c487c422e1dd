/** The day in the field as a crew does it: a hole judged, the log kept, the checklist and the quality read. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from '@playwright/test';
import { folder, look, open, page, root, step, test } from './window.ts';

test('a hole is judged, the day is logged, and quality and checklist say what is missing', async () => {
  test.setTimeout(90_000);
  const table = (name: string) => join(root, 'samples', 'templates', `${name}.csv`);
  const days = join(folder, 'days.csv');
  writeFileSync(
    days,
    'Day,Crew,Rain (mm),Hours since rain (h)\n2026-05-12,A. Sample,13,6\n2026-05-13,,soon,\n',
  );
  await open([join(folder, 'day.gasplat'), table('instruments'), table('samples'), table('readings'), days]);
  await page.getByRole('button', { name: 'New project…' }).click();
  await page.getByLabel('Project name').fill('Day');
  await page.getByRole('button', { name: 'Choose file and create' }).click();
  await step('Field').click();
  await page.getByRole('button', { name: 'Import instruments…' }).click();
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.getByRole('button', { name: 'Close', exact: true }).click();
  await page
    .getByRole('button', { name: /^Import samples/ })
    .first()
    .click();
  const mapping = page.getByRole('table', { name: 'Column mapping' });
  await expect(mapping.getByLabel('Column for Leak test')).toHaveValue('Leak test');
  await expect(mapping.getByLabel('Column for Pumped volume')).toHaveValue('Pumped volume (mL)');
  await mapping.getByLabel('Column for Dryer').scrollIntoViewIfNeeded();
  await look('field-1-import');
  await page.getByRole('button', { name: /^Import \d+ rows/ }).click();
  // Every time of the template is written with its zone.
  await expect(page.getByText('no time zone')).toHaveCount(0);
  await page.getByRole('button', { name: 'Import counts…' }).click();
  await page.getByRole('button', { name: 'Take it in' }).click();
  await expect(page.getByText(/brought \d+ counts/)).toBeVisible({ timeout: 30_000 });

  await page.getByText('Judge a hole before you leave it').click();
  const hole = page.getByRole('form', { name: 'At the hole' });
  await hole.getByLabel('Probe').selectOption({ label: 'E4' });
  await hole.getByLabel('Draw').selectOption({ index: 1 });
  await hole.getByLabel('Next hole, kBq/m³').fill('20');
  await hole.getByLabel('Still to come').fill('2');
  await hole.getByRole('button', { name: 'Judge this hole' }).press('Enter');
  const verdict = page.getByRole('region', { name: 'Verdict at E4' });
  // samples/templates/README.md: E4 was simulated with 210 kBq/m3; 2 % of it is 21 % of 20.
  await expect(verdict).toContainText('Waiting does not help');
  await expect(verdict).toContainText('The line held its vacuum');
  await verdict.scrollIntoViewIfNeeded();
  await look('field-2-hole');
  await hole.getByLabel('Probe').selectOption({ label: 'E8' });
  await hole.getByLabel('Oxygen, %').fill('20,8');
  await hole.getByLabel('CO2, %').fill('0,04');
  await hole.getByRole('button', { name: 'Judge this hole' }).press('Enter');
  await expect(page.getByRole('region', { name: 'Verdict at E8' })).toContainText('drive again 1.5 m off');

  const leave = page.getByRole('list', { name: 'Before you leave the site' });
  await expect(leave).toContainText('missing: rain and crew');
  await page.getByRole('button', { name: 'Import logs of days…' }).click();
  const looked = page.locator('#field-days ~ .inset-form');
  await expect(looked).toContainText('days.csv would bring 1 new log; 0 logs changed');
  await expect(looked.getByRole('table')).toContainText('soon');
  await looked.scrollIntoViewIfNeeded();
  await look('field-2b-days');
  await looked.getByRole('button', { name: 'Take it in' }).click();
  await expect(looked).toContainText('days.csv brought 1 new log');
  await looked.getByRole('button', { name: 'Close' }).click();
  await page.getByRole('button', { name: 'Change the log of 2026-05-12' }).click();
  const log = page.getByRole('form', { name: 'Log of a day' });
  await expect(log.getByLabel('Last rain, mm')).toHaveValue('13');
  await log.getByLabel('Control probe').selectOption({ label: 'E1' });
  await log.getByLabel(/^Dryer and line/).fill('07:10; dryer fresh; new gel');
  await log.scrollIntoViewIfNeeded();
  await look('field-3-log');
  await log.getByRole('button', { name: 'Set the log' }).click();
  await expect(page.getByRole('table', { name: 'Logs of the days' })).toContainText('13 mm, 6 h before');
  await expect(leave).not.toContainText('rain and crew');
  await leave.scrollIntoViewIfNeeded();
  await look('field-4-leave');

  await step('Reduce').click();
  await page.getByRole('radio', { name: 'Quality' }).check();
  const quality = page.getByRole('list', { name: 'Quality of the samples' });
  await expect(quality).toContainText('Sampled soon after heavy rain');
  await expect(quality.getByText('unconfirmed: from memory').first()).toBeVisible();
  await look('field-5-quality');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(quality).toContainText('no control probe named');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(quality).not.toContainText('Sampled soon after heavy rain');
  await page.getByRole('radio', { name: 'Samples' }).check();
  await expect(page.getByRole('table', { name: 'Samples' })).toBeVisible();
});
