import type { DrawNumberInfo, DrawNumbers, DrawTest } from '../contract/draw-test.ts';

const OWN = 'assumption of this program: read it from your gauges and data sheets';

/** Numbers of the draw test with the values that a new set-up starts with. None was seen in a published source. */
export const DRAW_NUMBERS: readonly DrawNumberInfo[] = [
  number('leastFlowMlPerMin', 'Least flow shown', 'mL/min', 10),
  number('leastSuctionPa', 'Least suction shown', 'Pa', 20),
  number('soilTemperatureC', 'Soil temperature', '°C', 10),
  number('soilTemperatureUC', 'Soil temperature, u', '°C', 4),
  number('meterTemperatureC', 'Temperature at the meter', '°C', 15),
  {
    ...number('airPressureHPa', 'Air pressure', 'hPa', 1013.25),
    source: 'standard atmosphere (ISO 2533): about 12 hPa less for each 100 m of height',
  },
  number('flowUPct', 'Flow, u', '%', 5),
  number('suctionUPct', 'Suction, u', '%', 5),
  number('lineLossUPct', 'Line loss, u', '%', 10),
  number('shapeFactorUPct', 'Shape factor, u', '%', 10),
];

function number(key: keyof DrawNumbers, label: string, unit: string, standard: number): DrawNumberInfo {
  return { key, label, unit, standard, source: OWN, mark: 'own assumption' };
}

/** As a new set-up starts with them. */
export function standardDrawNumbers(): DrawNumbers {
  return Object.fromEntries(DRAW_NUMBERS.map((n) => [n.key, n.standard])) as unknown as DrawNumbers;
}

/** The set-up in one line, for record and report. */
export function drawTestWords(test: DrawTest): string {
  const { cavity, line } = test;
  const mm = (metres: number) => `${short(1000 * metres)} mm`;
  return [
    cavity.kind === 'cylinder'
      ? `cavity ${mm(cavity.lengthM)} long and ${mm(cavity.diameterM)} wide`
      : `shape factor ${short(cavity.shapeFactorM)} m (${cavity.source})`,
    line.kind === 'measured'
      ? `line loss ${short(line.lossPa)} Pa at ${short(line.atFlowMlPerMin)} mL/min in open air`
      : `line of ${short(line.lengthM)} m and ${mm(line.boreM)} bore`,
    test.meteredAt === 'line' ? 'flow metered in the line' : 'flow metered behind the pump',
    ...DRAW_NUMBERS.map(({ key, label, unit, standard }) => {
      const mark = test[key] === standard ? ' (standard)' : '';
      return `${label.toLowerCase()} ${short(test[key])} ${unit}${mark}`;
    }),
  ].join('; ');
}

const short = (value: number) => Number(value.toPrecision(6)).toString();
