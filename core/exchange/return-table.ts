/** The empty table that a crew fills in and brings back: codes and labels are there, the rest is theirs. */
import type { ProjectFrame } from '../contract/model.ts';
import { sheetUnits } from '../sheets/sheet-words.ts';
import { csvLine } from './csv-out.ts';

/** Headers as the importer knows them; those it has no field for are kept with the row, letter for letter. */
export function returnHeaders(frame: ProjectFrame, radonUnit: 'kBq/m3' | 'pCi/L'): string[] {
  const { length, suction, volume, flow } = sheetUnits(frame);
  return [
    'Code',
    'Probe',
    'State',
    'Kind',
    `Offset east (${length})`,
    `Offset north (${length})`,
    `Depth (${length})`,
    'Started',
    'Taken',
    `Pumped volume (${volume})`,
    `Suction (${suction})`,
    `Flow (${flow})`,
    'Oxygen (%)',
    'Carbon dioxide (%)',
    'Instrument',
    'Leak check passed',
    'Dryer',
    'Water seen',
    'Tight ground',
    `Radon (${radonUnit})`,
    `Standard uncertainty (${radonUnit})`,
    'Soil',
    'Remark',
  ];
}

/** Lines that begin with # are comments to the importer; without a comma they need no quotes. */
const NOTES: readonly string[] = [
  '# One row a sample: its code says which probe. For a duplicate or repeat or blank copy the row and say so under Kind.',
  '# State is driven or refused or abandoned. Times are UTC unless the header says another clock as in Taken (UTC+2). Rows left empty stay planned.',
];

export function writeReturnTable(
  probes: readonly { readonly label: string; readonly code: string }[],
  frame: ProjectFrame,
  radonUnit: 'kBq/m3' | 'pCi/L',
): string {
  const headers = returnHeaders(frame, radonUnit);
  const rest = headers.slice(2).map(() => '');
  return [
    ...NOTES.map((note) => csvLine([note])),
    csvLine(headers),
    ...probes.map(({ code, label }) => csvLine([code, label, ...rest])),
  ].join('');
}
