/** Class, its doubts, placements, and what all this does not say. */

import { sayInUnits, unitText } from '../../contract/project-words.ts';
import { formatBothUnits, formatStatistic } from '../../figure/words.ts';
import { chanceText } from '../../text.ts';
import { facts, heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import {
  alternativeText,
  capital,
  classHeadline,
  groupReasons,
  radonText,
  timeText,
  VERDICT_WORDS,
} from '../words.ts';

export function classSection(input: ReportInput): ReportBlock[] {
  const { classResult: result, figure, view } = input;
  const unit = figure.radonUnit;
  const labels = new Map(
    view.samples.map((s) => [s.id, view.probes.find((p) => p.id === s.probeId)?.label ?? '']),
  );
  const statistic = formatStatistic(result, unit);
  return [
    heading(1, 'Statistic and class'),
    paragraph(classHeadline(result), 'strong'),
    ...(result.refusal === null ? [] : [paragraph(sayInUnits(result.refusal, figure))]),
    paragraph(sayInUnits(result.decidedBy, figure)),
    facts(
      [capital(result.statisticName), `${statistic}; ${result.quantileRule}`],
      ['Valid values', `${result.validCount}; the scheme asks for ${result.minimumCount}`],
      ['Permeability', `${result.permeabilityClass ?? 'not known'}: ${result.permeabilityBasis}`],
      [
        'Limits in force',
        figure.limits.length === 0
          ? 'none'
          : figure.limits.map((l) => `${l.name} from ${formatBothUnits(l.valueKBqPerM3, unit)}`).join('; '),
      ],
      [`Values counted, ascending, ${unitText(unit)}`, ascending(input)],
    ),
    heading(2, 'With and without rulings, and other ways to count'),
    {
      kind: 'table',
      columns: [
        { head: 'Way', share: 3.4 },
        { head: 'Outcome', share: 3 },
      ],
      rows: [
        ['As ruled, by the rule named above', `${classHeadline(result)}, at ${statistic}`],
        ...result.alternatives.map((a) => [a.what, alternativeText(a, unit)]),
      ],
    },
    ...(result.wouldChange.length === 0
      ? []
      : [
          heading(2, 'What would change it'),
          list(result.wouldChange.map((text) => sayInUnits(text, figure))),
        ]),
    heading(2, 'Unconfirmed'),
    result.unconfirmed.length === 0
      ? paragraph('Nothing this class rests on is known from memory or common practice alone.')
      : list(result.unconfirmed.map((u) => sayInUnits(u, figure))),
    heading(2, 'Not counted'),
    result.excluded.length === 0
      ? paragraph('Every value was counted.')
      : list(
          groupReasons(
            result.excluded.map((e) => ({
              label: labels.get(e.sampleId) ?? e.sampleId,
              reason: sayInUnits(e.reason, figure),
            })),
          ),
        ),
    heading(2, 'Rulings'),
    rulingList(input),
  ];
}

/** The counted values, where the ones this report can tell apart are as many as the scheme counted. */
function ascending({ view, classResult, figure }: ReportInput): string {
  const excluded = new Set(classResult.excluded.map((e) => e.sampleId));
  const values = view.marks.flatMap((m) =>
    m.treatment === 'use' && m.measured?.kind === 'value' && !m.sampleIds.some((id) => excluded.has(id))
      ? [m.measured.estimateKBqPerM3]
      : [],
  );
  if (values.length !== classResult.validCount)
    return 'not listed here: see the table of values, and "Not counted" below';
  return values
    .sort((a, b) => a - b)
    .map((v) => radonText(v, figure.radonUnit))
    .join(', ');
}

function rulingList({ view }: ReportInput): ReportBlock {
  const labels = new Map(view.probes.map((p) => [p.id, p.label]));
  const ruled = view.assessments.flatMap(({ ruling, probeId }) =>
    ruling === null
      ? []
      : [
          `${labels.get(probeId) ?? probeId}: ${VERDICT_WORDS[ruling.verdict]}, by ${ruling.actor}, ${timeText(ruling.atUtc)}. Reason: ${ruling.reason}`,
        ],
  );
  return ruled.length === 0 ? paragraph('No ruling was made.') : list(ruled);
}

export function doubts({ classResult: result, classNames }: ReportInput): ReportBlock[] {
  return [
    heading(1, 'Doubt about the class'),
    paragraph(
      'Two different doubts. That of measurement: the same points measured again. That of sampling: other points of the same ground.',
    ),
    ...(result.doubts.length === 0
      ? [paragraph('Neither was worked out: there is no class, or too few values.')]
      : [
          {
            kind: 'table',
            columns: [
              { head: 'Doubt', share: 1.2, strong: true },
              { head: 'Chance of each class', share: 2.2 },
              { head: 'How it was found', share: 4 },
            ],
            rows: result.doubts.map((d) => [
              d.kind === 'measurement' ? 'Of measurement' : 'Of sampling',
              d.probabilities
                .map((p) => `${classNames.get(p.classId) ?? p.classId} ${chanceText(p.probability)}`)
                .join(', '),
              d.method,
            ]),
          } satisfies ReportBlock,
        ]),
  ];
}

export function limits({ classResult: result, figure }: ReportInput): ReportBlock[] {
  return [
    heading(1, 'Limits and cautions'),
    list([
      ...figure.cautions,
      ...result.cautions.filter((c) => !figure.cautions.includes(c)).map((c) => sayInUnits(c, figure)),
    ]),
    list(
      [
        'One depth is one view; soil down to 2.4 m can matter, and thin layers where radium varies (EPA/600/R-96/045).',
        'At one point soil-gas radon can vary by up to a factor of ten by season and several-fold by weather (one-year study at Denver).',
        'Estimates for a site carry about a factor of two (EPA/600/R-95/161). Low soil gas cannot rule out a problem in the house.',
      ].map((text) => sayInUnits(text, figure)),
    ),
    heading(1, 'Recommendations'),
    paragraph(result.advice === '' ? 'The scheme gives no advice for this outcome.' : result.advice),
    paragraph(
      'Which protection is built is for the designer under local code. Test the finished building in use; radon-resistant features do not replace the test.',
    ),
  ];
}
