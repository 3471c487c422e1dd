/** Outlines in numbers and by hand: a deed's courses, snapping, parallels, a choice of shapes in a file. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';
import { expect } from '@playwright/test';
import { folder, look, open, page, step, test } from './window.ts';

function square(name: string, layer: string, x: number, y: number, size: number): object {
  const ring = [
    [x, y],
    [x + size, y],
    [x + size, y + size],
    [x, y + size],
    [x, y],
  ];
  return {
    type: 'Feature',
    properties: { name, layer },
    geometry: { type: 'Polygon', coordinates: [ring] },
  };
}

test('a lot by its deed, a keep-out along a lot line, a footprint by hand and by distances', async () => {
  test.setTimeout(120_000);
  const shapes = join(folder, 'plan.geojson');
  writeFileSync(
    shapes,
    JSON.stringify({
      type: 'FeatureCollection',
      crs: { type: 'name', properties: { name: 'EPSG:32633' } },
      features: [square('House', 'a', 600008, 5500012, 9), square('Garage', 'a', 600022, 5500012, 5)],
    }),
  );
  await open([join(folder, 'plot.gasplat'), shapes]);
  await page.getByRole('button', { name: 'New project…' }).click();
  await page.getByLabel('Project name').fill('Deed test lot');
  await page.getByRole('radio', { name: /Projected system/ }).check();
  await page.getByRole('searchbox').fill('32633');
  // By the pointer: a list whose first line counts as chosen would not take a click on it.
  await page.getByRole('listbox', { name: 'Systems found' }).click({ position: { x: 40, y: 14 } });
  await expect(page.getByRole('dialog')).toContainText('EPSG:32633, in metres');
  await page.getByRole('button', { name: 'Choose file and create' }).click();

  await page.getByRole('radio', { name: 'Bearings and distances' }).check();
  await page.getByLabel('Start east, m').fill('600000');
  await page.getByLabel('Start north, m').fill('5500000');
  const courses = page.getByLabel('One course a line: direction, length');
  await courses.fill('N 05-00-00 E 40.00\nS 85-00-00 E 45.00\nS 95-00-00 W 40.03');
  await expect(page.getByText(/more than 90°/)).toBeVisible();
  await courses.fill('N 05-00-00 E 40.00\nS 85-00-00 E 45.00\nS 05-00-00 W 40.03\nN 85-00-00 W 45.00');
  await expect(page.getByText(/0\.030 m, S 05°00'00" W from the start, 1:5,668/)).toBeVisible();
  await look('draw-1-deed');
  await page.getByRole('button', { name: 'Set lot line' }).click();
  await expect(page.getByText(/1\s?80[01] m²/).first()).toBeVisible();

  await page.getByRole('button', { name: 'Add keep-out' }).click();
  await page.getByLabel('Keep-out', { exact: true }).fill('Water service');
  await page.getByRole('radio', { name: 'Parallel' }).check();
  await page.getByLabel('Distance, m').fill('4');
  await page.getByRole('button', { name: 'Add this keep-out' }).click();
  await expect(page.getByRole('row', { name: /Water service/ })).toContainText('40.0 m');

  await page.getByRole('navigation', { name: 'Steps' }).getByRole('button', { name: /^Site/ }).click();
  await page.getByRole('button', { name: 'Import footprint…' }).click();
  await expect(page.getByRole('table', { name: 'Shapes in plan.geojson' })).toContainText('81');
  await look('draw-2-picker');
  await page.getByRole('button', { name: 'Take House' }).click();
  await expect(page.getByText('81.0 m²').first()).toBeVisible();

  await page.getByText('Another outline, or none').click();
  await page.getByRole('radio', { name: 'Off two lot lines' }).check();
  await expect(page.getByText('The map shows where it would stand.', { exact: false })).toBeVisible();
  await look('draw-3-rectangle');

  await page.getByRole('button', { name: 'Draw footprint on map' }).click();
  const next = page.getByRole('form', { name: 'Next corner in numbers' });
  await next.getByLabel('East, m').fill('600010');
  await next.getByLabel('North, m').fill('5500010');
  await next.getByRole('button', { name: 'Place corner' }).click();
  await next.getByRole('combobox').selectOption('direction');
  for (const [direction, length] of [
    ['N 05-00-00 E', '8'],
    ['95', '10'],
  ] as const) {
    await next.getByRole('textbox', { name: 'Direction' }).fill(direction);
    await next.getByLabel('Length, m').fill(length);
    await next.getByLabel('Length, m').press('Enter');
    await expect(next.getByRole('textbox', { name: 'Direction' })).toHaveValue('');
  }
  const canvas = await page
    .getByRole('region', { name: 'Map', exact: true })
    .locator('canvas')
    .first()
    .boundingBox();
  if (!canvas) throw new Error('The map has no canvas.');
  // Near the lower right corner of the lot, which the fit puts there.
  const bar = page.getByRole('region', { name: 'Drawing: Footprint' });
  await page.mouse.move(canvas.x + 0.742 * canvas.width, canvas.y + 0.879 * canvas.height);
  await expect(bar).toContainText('at a corner');
  await look('draw-4-by-hand');
  await page.getByRole('checkbox', { name: 'Snap' }).focus();
  await page.keyboard.press('s');
  await expect(bar).not.toContainText('at a corner');
  await page.keyboard.press('s');
  await page.keyboard.down('Alt');
  await page.mouse.move(canvas.x + 0.743 * canvas.width, canvas.y + 0.879 * canvas.height);
  await expect(bar).not.toContainText('at a corner');
  await page.keyboard.up('Alt');
  await page.getByRole('checkbox', { name: 'Right angles' }).check();
  await page.mouse.click(canvas.x + 0.516 * canvas.width, canvas.y + 0.708 * canvas.height);
  await page.getByRole('button', { name: 'Finish drawing' }).click();
  await expect(page.getByText(/^9\d\.\d m²$/).first()).toBeVisible();
});

/** A plan of 400 by 300 pixels at 0.1 m: white, a dark frame along the lot line, a grey house (PNG, RFC 2083). */
function planPng(): Buffer {
  const [width, height] = [400, 300];
  const rows = Buffer.alloc(height * (width + 1), 255);
  for (let y = 0; y < height; y++) {
    rows[y * (width + 1)] = 0;
    for (let x = 0; x < width; x++) {
      const isFrame = Math.min(x, y, width - 1 - x, height - 1 - y) < 4;
      const isHouse = x > 120 && x < 260 && y > 90 && y < 190;
      if (isFrame || isHouse) rows[y * (width + 1) + 1 + x] = isFrame ? 40 : 170;
    }
  }
  const chunk = (type: string, data: Buffer) => {
    const body = Buffer.concat([Buffer.from(type), data]);
    const ends = Buffer.alloc(8);
    ends.writeUInt32BE(data.length, 0);
    ends.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 0, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', head),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

test('a site plan under the map, placed by two points', async () => {
  test.setTimeout(120_000);
  const lot = join(folder, 'lot.csv');
  const image = join(folder, 'site plan.png');
  writeFileSync(lot, 'x,y\n0,0\n40,0\n40,30\n0,30\n');
  writeFileSync(image, planPng());
  await open([join(folder, 'plot.gasplat'), lot, image]);
  await page.getByRole('button', { name: 'New project…' }).click();
  await page.getByLabel('Project name').fill('Scanned plan');
  await page.getByRole('button', { name: 'Choose file and create' }).click();
  await page.getByRole('button', { name: 'Import lot line…' }).click();
  await expect(page.getByText(/1\s?200 m²/).first()).toBeVisible();

  await page.getByRole('button', { name: 'Add site plan image…' }).click();
  const picture = page.getByRole('region', { name: 'Picture of site plan' }).locator('canvas');
  await expect(page.getByText('400 by 300 pixels', { exact: true })).toBeVisible();
  await picture.scrollIntoViewIfNeeded();
  const box = await picture.boundingBox();
  if (!box) throw new Error('There is no picture.');
  await picture.click({ position: { x: 1, y: box.height - 1 } });
  await picture.click({ position: { x: box.width - 1, y: 1 } });
  await page.getByRole('button', { name: 'On map: point 1' }).click();
  const map = await page
    .getByRole('region', { name: 'Map', exact: true })
    .locator('canvas')
    .first()
    .boundingBox();
  if (!map) throw new Error('The map has no canvas.');
  // The lot is fitted: its lower left corner takes hold of a pointer near it.
  await expect(page.getByText('Point at the place on the map.', { exact: false })).toBeVisible();
  const east = page.getByLabel('Point 1 east');
  // The lot is fitted with 36 px around it, and its scale bar under it: near enough for the corner to take hold.
  await page.mouse.click(map.x + 0.1 * map.width + 4, map.y + 0.895 * map.height);
  await expect(east).toHaveValue('0.000');
  for (const [field, value] of [
    ['1 east', '0'],
    ['1 north', '0'],
    ['2 east', '40'],
    ['2 north', '30'],
  ] as const)
    await page.getByLabel(`Point ${field}`).fill(value);
  await expect(page.getByText(/100 pixels are (9\.9|10\.)/)).toBeVisible();
  await look('draw-5-placing');
  await page.getByRole('button', { name: 'Place it' }).click();
  await expect(page.getByText('placed by control points', { exact: false })).toBeVisible();
  await page.getByLabel('Opacity of site plan').press('ArrowRight');
  await look('draw-6-site-plan');
  await step('Deliver').click();
  const under = page.getByLabel('Site plan under the map, greyed');
  await expect(under).not.toBeChecked();
  await under.click();
  await expect(under).toBeChecked();
  await expect(page.getByText('Drawing the figure …')).toBeHidden({ timeout: 30_000 });
  await look('draw-7-figure');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(under).not.toBeChecked();
  await step('Plan').click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(page.getByText('not placed yet')).toBeVisible();
});
