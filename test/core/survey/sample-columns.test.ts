import { describe, expect, test } from 'vitest';
import { guessMapping, resolveColumns } from '../../../core/survey/sample-columns.ts';
import { table } from './field-sheet.ts';

function guess(header: string): Record<string, string> {
  const width = header.split(';').length;
  const read = table(`${header}\n${Array(width).fill('a').join(';')}\n`, { delimiter: ';' });
  const mapping = guessMapping(read.columns);
  return Object.fromEntries(Object.entries(mapping).map(([field, choice]) => [field, choice.column]));
}

describe('headers people write', () => {
  test('plain English', () => {
    expect(
      guess(
        'Probe ID;Easting (m);Northing (m);Depth [cm];Soil type;Fines (%);k (m2);Permeability class;Date;Radon (kBq/m3);Uncertainty (k=2);O2 (%);CO2 (%);Suction (kPa);Fresh air;Water;Sample type;Remarks',
      ),
    ).toEqual({
      label: 'Probe ID',
      x: 'Easting (m)',
      y: 'Northing (m)',
      depth: 'Depth [cm]',
      soil: 'Soil type',
      fineFraction: 'Fines (%)',
      permeability: 'k (m2)',
      permeabilityClass: 'Permeability class',
      taken: 'Date',
      radon: 'Radon (kBq/m3)',
      radonU: 'Uncertainty (k=2)',
      oxygen: 'O2 (%)',
      carbonDioxide: 'CO2 (%)',
      suction: 'Suction (kPa)',
      freshAir: 'Fresh air',
      water: 'Water',
      kind: 'Sample type',
      remark: 'Remarks',
    });
  });

  test('short and with underscores', () => {
    expect(guess('id;x;y;depth_m;rn_kBq_m3;u_radon;o2;co2')).toMatchObject({
      label: 'id',
      x: 'x',
      y: 'y',
      depth: 'depth_m',
      radon: 'rn_kBq_m3',
      radonU: 'u_radon',
      oxygen: 'o2',
    });
  });

  test('German, Czech and French', () => {
    expect(
      guess('Messpunkt;Rechtswert;Hochwert;Tiefe;Radon;Unsicherheit;Bodenart;Wasser;Bemerkung'),
    ).toMatchObject({
      label: 'Messpunkt',
      x: 'Rechtswert',
      y: 'Hochwert',
      depth: 'Tiefe',
      radonU: 'Unsicherheit',
      soil: 'Bodenart',
      water: 'Wasser',
      remark: 'Bemerkung',
    });
    expect(guess('Bod;X;Y;Hloubka;OAR (kBq/m3);Propustnost;Třída propustnosti')).toMatchObject({
      label: 'Bod',
      radon: 'OAR (kBq/m3)',
      permeability: 'Propustnost',
      permeabilityClass: 'Třída propustnosti',
    });
    expect(guess('Point de mesure;X;Y;Profondeur;Radon;Incertitude;Eau')).toMatchObject({
      label: 'Point de mesure',
      depth: 'Profondeur',
      radonU: 'Incertitude',
      water: 'Eau',
    });
  });

  test('an uncertainty of radon is never taken for radon, and a unit alone points to it', () => {
    expect(guess('id;x;y;u radon (kBq/m3);soil gas (kBq/m3)')).toMatchObject({
      radonU: 'u radon (kBq/m3)',
      radon: 'soil gas (kBq/m3)',
    });
  });
});

describe('the chosen columns', () => {
  test('a missing column is named with file, row and field and what the file has', () => {
    const read = table('probe,x,y,depth\nP1,1,2,0.8\n');
    const { issues } = resolveColumns(read, guessMapping(read.columns), true);
    expect(issues.find((i) => i.field === 'radon')).toMatchObject({
      severity: 'error',
      file: 'sheet.csv',
      row: 1,
      message: expect.stringMatching(/no column.*radon.*'probe', 'x', 'y', 'depth'/),
    });
    const wrong = resolveColumns(read, { radon: { column: 'Rn' } }, false);
    expect(wrong.issues[0]?.message).toMatch(/no column 'Rn' for radon/);
  });

  test('one column for two fields is refused', () => {
    const read = table('probe,x,y,radon (kBq/m3)\nP1,1,2,3\n');
    const mapping = { ...guessMapping(read.columns), y: { column: 'x' } };
    expect(resolveColumns(read, mapping, true).issues).toMatchObject([
      {
        severity: 'error',
        row: 1,
        field: 'y',
        message: expect.stringMatching(/'x' of sheet\.csv is chosen for both x and y/),
      },
    ]);
  });

  test('a unit that does not fit is refused, an unnamed one is said, the mapping wins over the header', () => {
    const read = table('probe,x,y,radon,depth (kBq/m3),u\nP1,1,2,3,4,5\n');
    const { columns, issues } = resolveColumns(
      read,
      {
        label: { column: 'probe' },
        x: { column: 'x' },
        y: { column: 'y' },
        radon: { column: 'radon', unit: 'pCi/L' },
        depth: { column: 'depth (kBq/m3)' },
        radonU: { column: 'u' },
      },
      true,
    );
    expect(columns.radon?.unit).toBe('pCi/L');
    expect(columns.radonU?.unit).toBe('pCi/L');
    expect(issues.map((i) => i.message)).toEqual([
      expect.stringMatching(/unit 'kBq\/m3'.*does not fit depth/),
    ]);
    const bare = resolveColumns(read, { radon: { column: 'radon' } }, false);
    expect(bare.issues.map((i) => i.message)).toContainEqual(
      expect.stringMatching(/'radon' of sheet\.csv names no unit; taken as kBq\/m3/),
    );
  });
});
