/** The kept places of the building beside each other, as the model sees them. */

import type { Pose } from '../../contract/model.ts';
import { lengthUnit, sayInUnits, unitText } from '../../contract/project-words.ts';
import type { ComparedPlacement } from '../../contract/siting.ts';
import { formatLevel } from '../../figure/words.ts';
import { chanceText } from '../../text.ts';
import { fromMetres } from '../../units.ts';
import { heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { capital, radonText } from '../words.ts';

function turnText({ turnDeg, mirrored }: Pose): string[] {
  const turn = ((((turnDeg + 180) % 360) + 360) % 360) - 180;
  return [
    ...(Math.abs(turn) < 0.05 ? [] : [`turned ${Math.abs(turn).toFixed(0)}° ${turn > 0 ? 'left' : 'right'}`]),
    ...(mirrored ? ['mirrored'] : []),
  ];
}

const AGAINST_WORDS: Record<NonNullable<ComparedPlacement['againstChosen']>, string> = {
  lower: 'lower: a real difference',
  higher: 'higher: a real difference',
  'no real difference': 'no real difference',
  'not compared': 'not compared',
};

/** A table of the kept places, or a sentence on why there is none. */
export function placements({ placements: given, figure, view }: ReportInput): ReportBlock[] {
  const title = heading(1, 'Placements of the building');
  if (given === null)
    return [
      title,
      paragraph(
        view.footprint === null
          ? 'No building is entered.'
          : 'No other place of the building was kept to compare with the one drawn.',
      ),
    ];
  if ('notCompared' in given)
    return [title, paragraph(`Not compared: ${sayInUnits(given.notCompared, figure)}`)];
  const { radonUnit: unit, frame } = figure;
  const length = lengthUnit(frame);
  const moved = ({ pose, distanceMovedM }: ComparedPlacement) =>
    [
      distanceMovedM < 0.005 ? 'not moved' : `${fromMetres(distanceMovedM, length).toFixed(1)} ${length}`,
      ...turnText(pose),
    ].join(', ');
  const limits = given.placements[0]?.statistics.overLimits.map((o) => o.limitKBqPerM3) ?? [];
  return [
    title,
    paragraph(
      'These figures come from the model of the ground, not from the scheme: they are no class. A better place never makes protection needless; the scheme and local code decide.',
      'strong',
    ),
    paragraph(
      `${view.footprint?.label ?? 'The building'} as drawn and at each kept place, on the same ${given.realisations} realisations of the ground. A difference from the chosen place is called real where it is large enough to matter and at least 95 % of the realisations agree on which is lower; the sentences below give the numbers.`,
    ),
    {
      kind: 'table',
      columns: [
        { head: 'Placement', share: 1.5, strong: true },
        { head: 'Moved', share: 1.5 },
        { head: `Mean under it, ${unitText(unit)}`, share: 1, align: 'end' },
        { head: '90 % of the realisations', share: 1.3, align: 'end' },
        ...limits.map((l) => ({
          head: `Chance of a mean over ${formatLevel(l, unit)}`,
          share: 1.1,
          align: 'end' as const,
        })),
        { head: 'Mean against the chosen one', share: 1.9 },
      ],
      rows: given.placements.map((place) => {
        const { blockMeanKBqPerM3: mean, overLimits } = place.statistics;
        return [
          `${capital(place.label)}${place.chosen ? ' (chosen)' : ''}`,
          moved(place),
          radonText(mean?.mean ?? null, unit),
          mean === null ? '–' : `${radonText(mean.low, unit)} to ${radonText(mean.high, unit)}`,
          ...limits.map((_, i) => {
            const over = overLimits[i];
            return over === undefined || mean === null ? '–' : chanceText(over.blockMean);
          }),
          place.againstChosen === null ? 'the chosen one' : AGAINST_WORDS[place.againstChosen],
        ];
      }),
    },
    list([...given.differences, ...given.cautions].map((text) => sayInUnits(text, figure))),
  ];
}
