import type { CrsChoice } from '../contract/requests.ts';
import { withoutAccents } from '../text.ts';
import { allSystems, type CrsEntry } from './crs-table.ts';
import { datumOfEntry } from './datum-shift.ts';

const MOST_CHOICES = 60;

/** Systems that match every word of the text by code, name or place, best first, at most 60. */
export function searchCrs(text: string): CrsChoice[] {
  const wordsOf = (said: string) => said.split(/[\s,;/]+/).filter((word) => word !== '');
  const said = normal(text)
    .replace(/\bepsg:?/g, ' ')
    // As people write what the dataset calls "WGS 84" and "UTM zone 33N"; "state plane" it leaves out.
    .replace(/\b(wgs|utm)[ -]?(\d)/g, '$1 $2');
  const place = wordsOf(said.replace(/\bstate plane\b|\bspcs\b/g, ' '));
  const words = place.length > 0 || said.trim() === '' ? place : ['nad83'];
  if (words.length === 0) return [];
  const wanted = words.map((word) => ({
    word,
    whole: new RegExp(`(^|[^a-z0-9])${escapeRegExp(word)}([^a-z0-9]|$)`),
  }));
  const hits: { entry: CrsEntry; score: number }[] = [];
  for (const entry of allSystems()) {
    const score = matchScore(entry, wanted);
    if (score > 0) hits.push({ entry, score });
  }
  hits.sort(
    (a, b) => b.score - a.score || a.entry.name.length - b.entry.name.length || a.entry.code - b.entry.code,
  );
  return hits.slice(0, MOST_CHOICES).map(({ entry }) => ({
    code: entry.code,
    name: entry.name,
    unitLabel: entry.unitLabel,
    area: entry.area,
    note: crsNote(entry),
  }));
}

function crsNote(entry: CrsEntry): string | null {
  const notes: string[] = [];
  if (entry.kind === 'geographic')
    notes.push('Longitude and latitude: for imported files; a project needs a projected system.');
  if (entry.proj4.includes('+axis=')) {
    notes.push(
      'The dataset counts westing or southing positive; here always easting, northing (signs turned).',
    );
  }
  const datum = datumOfEntry(entry);
  if (datum.kind === 'grid-needed')
    notes.push(`To other datums only with the grid file ${entry.gridFile}, which is not shipped.`);
  if (datum.kind === 'unknown') notes.push('No operation to other datums is known here.');
  if (datum.kind === 'helmert' && entry.gridFile !== null) {
    notes.push(
      `To other datums within several metres only (the grid file ${entry.gridFile} is not shipped).`,
    );
  }
  if (entry.code === 3857) notes.push('Lengths are stretched away from the equator: not for a project.');
  return notes.length === 0 ? null : notes.join(' ');
}

/** 0: no match. Codes count most, then the name, then the place. */
function matchScore(entry: CrsEntry, words: readonly { word: string; whole: RegExp }[]): number {
  const code = String(entry.code);
  const name = normal(entry.name);
  const area = normal(entry.area);
  let score = entry.kind === 'projected' ? 1 : 0.5;
  for (const { word, whole } of words) {
    if (code === word) score += 1000;
    else if (whole.test(name)) score += 30;
    else if (name.includes(word)) score += 20;
    else if (area.includes(word)) score += 10;
    else if (code.startsWith(word) && word.length >= 3) score += 5;
    else return 0;
  }
  // WGS 84, ETRS89 and NAD83 are what a modern receiver gives: first among equals. Odd axes and datums that lead nowhere:
  // last.
  if (/^(wgs 84|etrs89|nad83) /.test(name)) score += 3;
  if (/\((n-e|z?e-n|n-ze)\)/.test(name) || entry.proj4.includes('+axis=')) score -= 4;
  if (['unknown', 'grid-needed'].includes(datumOfEntry(entry).kind)) score -= 3;
  return Math.max(score, 0.1);
}

function normal(text: string): string {
  return withoutAccents(text).toLowerCase();
}

function escapeRegExp(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
}
