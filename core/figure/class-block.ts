/** What the scheme says of the lot: the statement for page 1 and the detail behind it. */

import { sayInUnits, unitText } from '../contract/project-words.ts';
import type { ClassResult } from '../contract/results.ts';
import { capital, chanceText } from '../text.ts';
import { type Block, BlockBuilder } from './blocks.ts';
import type { FigureHeadline, FigureInput } from './figure-model.ts';
import { CLASS_PT, SMALL_PT, SOFT_INK } from './style.ts';
import { fitSize } from './text.ts';
import { formatRadon, formatStatistic, joinSentences } from './words.ts';

const SMALL = { sizePt: SMALL_PT } as const;
const PARAGRAPH_GAP_MM = 0.5;

function statementOf(result: ClassResult): string {
  if (isOpen(result)) return `Not settled: ${(result.range ?? []).join(' or ')}`;
  return capital(result.className ?? 'No class');
}

/** Both classes are printed, since values known only as bounds could make it the one or the other. */
function isOpen(result: ClassResult): boolean {
  return result.range !== null && result.range.length > 1;
}

function statisticOf(result: ClassResult, input: FigureInput): string {
  return `${capital(result.statisticName)} ${formatStatistic(result, input.radonUnit)}; ${result.validCount} valid values, ${result.minimumCount} needed.`;
}

function alternativeLine(a: ClassResult['alternatives'][number], input: FigureInput): string {
  const value =
    a.statisticKBqPerM3 === null
      ? ''
      : ` (${formatRadon(a.statisticKBqPerM3, input.radonUnit)} ${unitText(input.radonUnit)})`;
  return `${a.what}: ${a.className ?? 'no class'}${value}`;
}

function headlineBlock({ heading, statement, lines }: FigureHeadline, widthMm: number): Block {
  const block = new BlockBuilder(widthMm).heading(heading);
  const sizePt = fitSize(statement, 'semibold', CLASS_PT, 9, widthMm);
  block.gap(0.4).paragraph(statement, { sizePt, face: 'semibold', role: 'class' }).gap(0.6);
  for (const line of lines) block.paragraph(line, SMALL);
  return block.build('class', true);
}

/** The class or the refusal, the number behind it, the scheme with its source, and what is not confirmed. */
export function classStatement(input: FigureInput, widthMm: number): Block {
  if (input.headline !== undefined) return headlineBlock(input.headline, widthMm);
  const block = new BlockBuilder(widthMm).heading('CLASS OF THE LOT');
  const result = input.classResult;
  if (result === null) {
    return block.paragraph('No class has been worked out for this lot.').build('class', true);
  }
  const statement = statementOf(result);
  const sizePt = fitSize(statement, 'semibold', CLASS_PT, 9, widthMm);
  block.gap(0.4).paragraph(statement, { sizePt, face: 'semibold', role: 'class' }).gap(0.6);
  if (isOpen(result)) {
    block.paragraph('The outcome hangs on values known only as bounds: both classes are printed.');
  }
  block.paragraph(statisticOf(result, input));
  block.paragraph(sayInUnits(result.refusal ?? result.decidedBy, input), SMALL);
  // Page 1 shows what rulings and added probes did and whatever would come out differently; agreement stands in the detail.
  for (const alternative of result.alternatives) {
    const { classId, isWithoutRulings, isWithoutAdded } = alternative;
    const isSaid = classId === null || classId === result.classId || (result.range ?? []).includes(classId);
    if (isWithoutRulings || isWithoutAdded || !isSaid) {
      block.paragraph(alternativeLine(alternative, input), SMALL);
    }
  }
  for (const ruling of input.highRulings ?? []) block.paragraph(ruling, { ...SMALL, role: 'high-ruling' });
  block
    .gap(0.5)
    .paragraph(`${result.schemeName}. ${result.edition}.`, { ...SMALL, colour: SOFT_INK, role: 'scheme' });
  if (result.unconfirmed.length > 0) {
    block.gap(0.5).paragraph(`Unconfirmed: ${sayInUnits(joinSentences(result.unconfirmed), input)}`, {
      ...SMALL,
      face: 'italic',
      role: 'unconfirmed',
    });
  }
  return block.build('class', true);
}

/** The doubts of the class and the other ways it could have come out; null where there is none. */
export function classDetail(input: FigureInput, widthMm: number): Block | null {
  const result = input.classResult;
  if (result === null) return null;
  const block = new BlockBuilder(widthMm).heading('CLASS IN DETAIL');
  const before = block.yMm;
  for (const { kind, probabilities, method } of result.doubts) {
    const name =
      kind === 'measurement'
        ? 'Doubt of measurement (these points again)'
        : 'Doubt of sampling (other points)';
    const shares = probabilities.map((p) => `${p.classId} ${chanceText(p.probability)}`).join(', ');
    block.paragraph(`${name}: ${shares}. ${method}`, SMALL).gap(PARAGRAPH_GAP_MM);
  }
  for (const alternative of result.alternatives)
    block.paragraph(alternativeLine(alternative, input), SMALL).gap(PARAGRAPH_GAP_MM);
  if (result.wouldChange.length > 0)
    block
      .paragraph(`What would change it: ${sayInUnits(result.wouldChange.join(' '), input)}`, SMALL)
      .gap(PARAGRAPH_GAP_MM);
  return block.yMm === before ? null : block.build('class-detail', false);
}

/** What the scheme itself advises and warns of, and where it is published; null without a class. */
export function schemeBlock(input: FigureInput, widthMm: number): Block | null {
  const result = input.classResult;
  if (result === null) return null;
  const block = new BlockBuilder(widthMm).heading('ADVICE AND SOURCE OF THE SCHEME');
  if (result.advice !== '') block.paragraph(result.advice, SMALL).gap(PARAGRAPH_GAP_MM);
  for (const caution of result.cautions.filter((c) => !input.cautions.includes(c)))
    block.paragraph(sayInUnits(caution, input), SMALL).gap(PARAGRAPH_GAP_MM);
  block.paragraph(`Source: ${result.source}`, { ...SMALL, colour: SOFT_INK });
  return block.build('scheme', false);
}
