/** What is asked for at each probe and over the day, each with who asks for it. */

import type { Scheme, SourcedNumber } from '../classify/scheme.ts';
import type { ProjectFrame } from '../contract/model.ts';
import { isFootFrame, sayInUnits } from '../contract/project-words.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import type { SheetReminder } from './sheet-model.ts';
import { depthText } from './sheet-words.ts';

const PRACTICE = 'common practice';
const GUIDANCE = 'vapour-intrusion guidance (California DTSC 2015), borrowed for radon';

export const SHEET_CAUTIONS: readonly string[] = [
  'Buried services: have them located and marked before any probe is driven, to any depth. Call the local one-call service first. Keep-outs on the map hold only what was entered; what is not drawn is not avoided. Stop at any unexpected resistance.',
  'Radiation: follow the radiation and site-safety rules. Handle check sources and hot cells under the local rule.',
  'Confined air: soil gas can lack oxygen and carry carbon dioxide or methane, in fill above all. Let pumped gas out away from faces; never in a closed vehicle, pit or shaft.',
];

/** Checks to tick at every probe; the letters are those of the list's narrow columns. */
export function probeChecks(thresholds: FlagThresholds): SheetReminder[] {
  return [
    { text: 'F: fresh tape on every thread joint, at each assembly', asker: PRACTICE },
    {
      text: 'L: leak check held: shut in under full suction, watched for a minute, no visible loss; ground tamped round the rod',
      asker: GUIDANCE,
    },
    {
      text: `P: purged by at least ${thresholds.leastSystemVolumes} volumes of rod, tube, dryer and chamber; oxygen and carbon dioxide steady`,
      asker: GUIDANCE,
    },
    { text: 'G: dryer still good; a spent one makes the instrument read low', asker: PRACTICE },
  ];
}

function schemeAsker(scheme: Scheme, from: SourcedNumber): string {
  const seen = from.mark === 'read' || from.mark === 'calc';
  return seen ? scheme.name : `${scheme.name}, unconfirmed`;
}

export interface ReminderInput {
  readonly scheme: Scheme;
  readonly frame: ProjectFrame;
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
  readonly probeCount: number;
  /** Measured again each half-day; null where there is no probe. */
  readonly controlLabel: string | null;
}

/** What the scheme and good practice ask of the day, most binding first. */
export function dayReminders(input: ReminderInput): SheetReminder[] {
  const { scheme, frame, probeCount, controlLabel } = input;
  const { minimumCount, depthM, shallowestM, excludeBelow } = scheme;
  const duplicates = Math.max(1, Math.ceil(probeCount / 20));
  const asked: SheetReminder[] = [
    {
      text: `At least ${minimumCount.value} valid samples of the first kind; duplicates, repeats, blanks and diluted ones do not count toward them.`,
      asker: schemeAsker(scheme, minimumCount),
    },
  ];
  if (depthM !== null)
    asked.push({ text: `Depth ${depthText(depthM.value, frame)}.`, asker: schemeAsker(scheme, depthM) });
  if (shallowestM !== null)
    asked.push({
      text: `Less deep only where rock or water forces it, never under ${depthText(shallowestM.value, frame)}; write down why.`,
      asker: schemeAsker(scheme, shallowestM),
    });
  if (excludeBelow !== null)
    asked.push({
      text: `Under ${sayInUnits(`${excludeBelow.value} kBq/m3`, input)} a sample counts as failed: drive again.`,
      asker: schemeAsker(scheme, excludeBelow),
    });
  return [
    ...asked,
    {
      text: `Duplicates: ${duplicates} (1 in 20), drawn at once at the same probe. Write the probe’s code again and 'duplicate'.`,
      asker: GUIDANCE,
    },
    {
      text: `Blanks: ${duplicates} or one a day, whichever is more: clean dry air through the whole line.`,
      asker: GUIDANCE,
    },
    { text: 'Background of each instrument at the opening and the closing of the day.', asker: PRACTICE },
    {
      text: `Control probe ${controlLabel ?? ''} measured again each half-day, with every instrument.`.replace(
        '  ',
        ' ',
      ),
      asker: PRACTICE,
    },
    {
      text: `Refused or failed: again at least ${isFootFrame(frame) ? '5 ft (1.5 m)' : '1.5 m'} off, up to three tries; note each.`,
      asker: GUIDANCE,
    },
    {
      text: 'A probe in water or tight ground gives no gas: tick which, and write no value.',
      asker: PRACTICE,
    },
    {
      text: 'Not during or soon after heavy rain (13 mm); write down the rain of the last day.',
      asker: GUIDANCE,
    },
  ];
}
