import { sayInUnits } from '../../contract/project-words.ts';
import type { AddedProbes, ClassResult } from '../../contract/results.ts';
import { formatStatistic } from '../../figure/words.ts';
import { chanceText } from '../../text.ts';
import { facts, heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import {
  alternativeText,
  capital,
  classHeadline,
  countOf,
  NOT_RECORDED,
  nameSome,
  sheetNumbers,
  TREATMENT_WORDS,
} from '../words.ts';
import { depthSpan } from './field.ts';

const MOST_RULINGS = 5;
const MOST_UNCONFIRMED = 5;
const MOST_FLAGGED = 6;

/** Page 1: what came out, on what it rests, and what it does not say. The weightiest stands first. */
export function summary(input: ReportInput): ReportBlock[] {
  const { classResult: result, figure, view } = input;
  const unit = figure.radonUnit;
  const without = result.alternatives.filter((a) => a.isWithoutRulings);
  const withoutAdded = result.alternatives.filter((a) => a.isWithoutAdded);
  const bounds = result.alternatives.filter((a) => a.what.startsWith('Bounds'));
  const statistic = formatStatistic(result, unit);
  return [
    heading(1, 'Summary'),
    paragraph(`${figure.projectName}. ${figure.isDemo ? 'INVENTED DATA, FOR DEMONSTRATION.' : ''}`.trim()),
    { kind: 'statement', text: classHeadline(result) },
    paragraph(
      sayInUnits(result.refusal ?? result.decidedBy, figure),
      result.refusal === null ? 'normal' : 'strong',
    ),
    facts(
      [
        capital(result.statisticName),
        `${statistic}; ${result.quantileRule}; ${result.validCount} valid values, ${result.minimumCount} needed`,
      ],
      ['Scheme, edition', `${result.schemeName}; ${result.edition}`],
      ['Permeability', `${result.permeabilityClass ?? 'not known'} (${result.permeabilityBasis})`],
      ['Class with rulings', classHeadline(result)],
      ...without.map((a) => ['Class without rulings', alternativeText(a, unit)] as readonly [string, string]),
      ...withoutAdded.map((a) => ['Class without added probes', alternativeText(a, unit)] as const),
      ...(result.added === null ? [] : [['Added probes', addedText(result.added)] as const]),
      ...bounds.map((a) => [capital(a.what.replace(/^Bounds: /, '')), alternativeText(a, unit)] as const),
      ...doubtFacts(result, input.classNames),
      ['Probes', probeCounts(input)],
    ),
    heading(2, 'Lot and work'),
    facts(...workFacts(input)),
    ...rulings(input),
    ...unconfirmed(result.unconfirmed.map((text) => sayInUnits(text, figure))),
    ...flagged(input),
    heading(2, 'Cautions'),
    list(figure.cautions),
    paragraph(
      `${view.name}, revision ${view.revision}, record ${figure.recordHash ?? 'none'}. ${issueLine(input)}`,
      'note',
    ),
  ];
}

/** Both doubts in one line each; nothing where they were not worked out. */
function doubtFacts(
  { doubts }: ClassResult,
  names: ReadonlyMap<string, string>,
): (readonly [name: string, value: string])[] {
  return doubts.map(({ kind, probabilities }) => [
    kind === 'measurement' ? 'Chance, these points again' : 'Chance, other points',
    probabilities.map((p) => `${names.get(p.classId) ?? p.classId} ${chanceText(p.probability)}`).join(', '),
  ]);
}

/** Who, where, when and with what. */
function workFacts({ figure, people, instruments, days, view }: ReportInput): (readonly [string, string])[] {
  const sheet = figure.sheet ?? {};
  const crews = [...new Set(days.flatMap((d) => (d.crew === null ? [] : [d.crew])))];
  const measuredWith = instruments.map(
    (i) =>
      `${i.label}, calibrated ${i.calibratedOn ?? NOT_RECORDED}, certificate ${i.certificate ?? NOT_RECORDED}, ${countOf(i.sampleCount, 'sample')}`,
  );
  const preparer = [
    people.preparedBy ?? 'not named',
    `licence ${people.licenceNumber ?? 'not stated'}`,
    ...(people.organisation === undefined ? [] : [people.organisation]),
  ];
  const numbers = sheetNumbers(sheet);
  return [
    ['Address of the lot', sheet.address ?? NOT_RECORDED],
    ['Asked for by', people.client ?? NOT_RECORDED],
    ['Prepared by', preparer.join(', ')],
    ['Reviewed by', people.reviewedBy ?? 'nobody named'],
    ...(numbers === '' ? [] : [['Job and sheet', numbers] as const]),
    ['Sampled', `${figure.sampledOn ?? NOT_RECORDED}${crews.length === 0 ? '' : `, by ${nameSome(crews)}`}`],
    ['Method', `Grab samples of soil gas; depth ${depthSpan(view)}`],
    [
      'Measured with',
      measuredWith.length === 0 ? `instrument and calibration ${NOT_RECORDED}` : measuredWith.join('; '),
    ],
  ];
}

/** Placed by the results so far: who reads the class has to know. */
function addedText({ labels, waiting, validCount }: AddedProbes): string {
  const left =
    waiting.length === 0 ? '' : `; still to be driven, as their number was fixed: ${nameSome(waiting)}`;
  return `${nameSome(labels)}, placed by the results before them; ${validCount} of ${labels.length} valid${left}`;
}

function probeCounts({ view }: ReportInput): string {
  const driven = view.marks.filter((m) => m.treatment !== null);
  const counts = (['use', 'lower-bound', 'leave-out', 'no-value'] as const)
    .map((t) => `${driven.filter((m) => m.treatment === t).length} ${TREATMENT_WORDS[t]}`)
    .join(', ');
  return `${view.probes.length} in all, ${driven.length} sampled: ${counts}`;
}

function rulings(input: ReportInput): ReportBlock[] {
  const high = input.figure.highRulings ?? [];
  const all = input.view.assessments.filter((a) => a.ruling !== null).length;
  const title = heading(2, 'Rulings on high values');
  if (high.length === 0) {
    const others =
      all === 0 ? 'There is no ruling at all.' : `Rulings on other values: ${all}, see the table of values.`;
    return [title, paragraph(`None: no high value was left out or made a bound by a person. ${others}`)];
  }
  const more = high.length - MOST_RULINGS;
  return [
    title,
    list([
      ...high.slice(0, MOST_RULINGS),
      ...(more > 0 ? [`and ${more} more: see the table of values`] : []),
    ]),
  ];
}

/** Probes of which the same is said share a line. */
function flagged({ figure }: ReportInput): ReportBlock[] {
  if (figure.exceptions.length === 0) return [];
  const labels = new Map<string, string[]>();
  for (const { label, text } of figure.exceptions) labels.set(text, [...(labels.get(text) ?? []), label]);
  const lines = [...labels].map(([text, names]) => `${nameSome(names)}: ${sayInUnits(text, figure)}`);
  const more = lines.length - MOST_FLAGGED;
  return [
    heading(2, `Flagged and left out (${figure.exceptions.length})`),
    list([
      ...lines.slice(0, MOST_FLAGGED),
      ...(more > 0 ? [`and ${more} more: see the table of values`] : []),
    ]),
  ];
}

function unconfirmed(texts: readonly string[]): ReportBlock[] {
  if (texts.length === 0) return [];
  const more = texts.length - MOST_UNCONFIRMED;
  return [
    heading(2, 'Unconfirmed: this class rests on'),
    list([
      ...texts.slice(0, MOST_UNCONFIRMED),
      ...(more > 0 ? [`and ${more} more: see "Statistic and class"`] : []),
    ]),
  ];
}

function issueLine({ issue, people }: ReportInput): string {
  const prepared = `Prepared by ${people.preparedBy ?? 'a person not named'}, licence ${people.licenceNumber ?? 'not stated'}.`;
  if (issue === null) return `${prepared} A draft: this state has not been issued.`;
  const number = issue.number === null ? 'Issue' : `Issue ${issue.number}`;
  return `${prepared} ${number}, SHA-256 ${issue.sha256}.`;
}
