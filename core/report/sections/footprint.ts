/** The scheme's word on the placed building, or why there is none. */
import { areaText, lengthText, sayInUnits } from '../../contract/project-words.ts';
import { formatStatistic } from '../../figure/words.ts';
import { facts, heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { alternativeText, capital, classHeadline } from '../words.ts';

export function footprintClass({ footprintClass: found, figure, view }: ReportInput): ReportBlock[] {
  if (found === null) return [];
  const unit = figure.radonUnit;
  const { support, result, label, areaM2 } = found;
  const kept = view.footprint?.placements ?? [];
  const others = kept.filter((p) => !p.chosen).map((p) => p.label);
  const places =
    kept.length === 0
      ? []
      : [
          [
            'Kept placements',
            `${kept.find((p) => p.chosen)?.label ?? 'as drawn'} is chosen${others.length === 0 ? '' : `; also kept: ${others.join(', ')}`}`,
          ] as const,
        ];
  const unconfirmed = support.surroundingsUnconfirmed
    ? [
        `Unconfirmed: surroundings of ${lengthText(support.surroundingsM, view.frame)} are common practice; the sources seen give no figure.`,
      ]
    : [];
  const points = [
    ['The lot as a whole', capital(found.lotClass)],
    ['Building', `${label}, ${areaText(areaM2, view.frame)}`],
    [
      'Valid points',
      `${support.inside} in the footprint, ${support.around} within ${lengthText(support.surroundingsM, view.frame)} of it; ${support.needed} asked for`,
    ],
  ] as const;
  const title = heading(1, 'Class under the building');
  if (result === null)
    return [
      title,
      paragraph('No class for this place', 'strong'),
      paragraph(sayInUnits(support.message, figure)),
      facts(...points, ...places),
      ...(unconfirmed.length === 0 ? [] : [list(unconfirmed)]),
    ];
  const statistic = formatStatistic(result, unit);
  return [
    title,
    paragraph(classHeadline(result), 'strong'),
    paragraph(sayInUnits(result.refusal ?? result.decidedBy, figure)),
    facts(
      ...points,
      [capital(result.statisticName), statistic],
      ...result.alternatives
        .filter((a) => a.isWithoutRulings || a.isWithoutAdded)
        .map((a) => [a.what, alternativeText(a, unit)] as const),
      ...places,
    ),
    ...(unconfirmed.length === 0 ? [] : [list(unconfirmed)]),
  ];
}
