/** An invented day's sheets. */
import { schemeById } from '../../../core/classify/scheme.ts';
import type { ProjectFrame } from '../../../core/contract/model.ts';
import { probeCodes } from '../../../core/project/probe-codes.ts';
import type { FieldSheetInput } from '../../../core/sheets/sheet-model.ts';
import { dayReminders, probeChecks, SHEET_CAUTIONS } from '../../../core/sheets/sheet-reminders.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';

export const FEET: ProjectFrame = {
  crs: { kind: 'epsg', code: 2249 },
  crsName: 'NAD83 / Massachusetts Mainland (ftUS), EPSG:2249',
  originNative: [777000, 2956000],
  metresPerUnit: 1200 / 3937,
  unitLabel: 'US survey ft',
  gridScaleFactor: 0.99998,
  convergenceDeg: 0.3,
};
export const METRES: ProjectFrame = {
  ...FEET,
  crs: { kind: 'epsg', code: 32633 },
  crsName: 'WGS 84 / UTM zone 33N, EPSG:32633',
  originNative: [458300, 5548700],
  metresPerUnit: 1,
  unitLabel: 'm',
};

/** Invented: 60 probes on a crooked walk, every seventh with a label as people write them when nobody stops them. */
export function sheetInput(frame: ProjectFrame = METRES): FieldSheetInput {
  const scheme = schemeById('czech-building-site-index');
  const ids = Array.from({ length: 60 }, (_, i) => `id-${i}`);
  const codes = probeCodes('sheets-test', ids);
  const probes = ids.map((id, i) => {
    const column = Math.floor(i / 10);
    const positionM = [3 + 7 * column, 3 + 4 * (column % 2 === 0 ? i % 10 : 9 - (i % 10))] as const;
    return {
      label: i % 7 === 3 ? `Probe ${i} by the old barn, left of the second gate post` : `P${i + 1}`,
      code: codes.get(id) ?? '',
      positionM,
      native: [
        frame.originNative[0] + positionM[0] / frame.metresPerUnit,
        frame.originNative[1] + positionM[1] / frame.metresPerUnit,
      ] as const,
      depthM: 0.8,
      symbol: 'planned' as const,
    };
  });
  return {
    projectName:
      'A lot with a name that is rather long, as names of lots in subdivisions often turn out to be',
    details: ['Job 2026-14', '12 Mill Lane'],
    isDemo: true,
    revision: 12,
    recordHash: '0123456789abcdef'.repeat(4),
    createdUtc: '2026-05-06T08:00:00Z',
    program: 'Gasplat 0.0.0',
    frame,
    lot: [
      [0, 0],
      [42, 0],
      [42, 44],
      [0, 42],
    ],
    footprint: null,
    keepOuts: [
      {
        id: 'k',
        label: 'Gas service',
        shape: 'line',
        points: [
          [20, 0],
          [22, 43],
        ],
        bufferM: 1,
      },
    ],
    probes,
    rounds: [{ name: null, count: 60 }],
    others: [],
    startM: [0, 0],
    walkM: 300,
    walkLineM: [[0, 0], ...probes.map((p) => p.positionM), [0, 0]],
    walkWords: 'round the house',
    walkNotes: [],
    orderWords: 'Sheets follow the order in which the probes were laid out.',
    radonUnit: 'kBq/m3',
    checks: probeChecks(defaultThresholds()),
    reminders: dayReminders({ scheme, frame, radonUnit: 'kBq/m3', probeCount: 60, controlLabel: 'P1' }),
    cautions: SHEET_CAUTIONS,
  };
}
