/** The texts, plots and small maps of a sheet in their order, each to be set in any width. */
import type { SheetTemplate } from '../contract/sheet.ts';
import { asFigure, type Block } from './blocks.ts';
import { classDetail, classStatement, schemeBlock } from './class-block.ts';
import {
  cautions,
  exceptions,
  legend,
  methodBlock,
  notesBlock,
  qualityBlock,
  remarksBlock,
  sheetDataBlock,
} from './column-blocks.ts';
import type { FigureInput } from './figure-model.ts';
import { insetBlock } from './inset.ts';
import { crossValidationBlock, histogramBlock, variogramBlock } from './plots.ts';

export interface BlockMaker {
  /** Name of the block and id of the part. */
  readonly id: string;
  /** @param moreMm - height of a plot beyond its own; a text is as high as its words need */
  readonly make: (widthMm: number, moreMm?: number) => Block | null;
}

export interface BlockContext {
  readonly template: SheetTemplate;
  /** What the map could not show. */
  readonly remarks: readonly string[];
  /** So many exceptions are named; the others are counted. */
  readonly named: number;
}

/** What is drawn in a plot or small map is one figure, named by its heading; the words under it say what it shows. */
function figure(make: BlockMaker['make']): BlockMaker['make'] {
  return (widthMm, moreMm) => {
    const block = make(widthMm, moreMm);
    return block === null ? null : asFigure(block, block.title);
  };
}

export function blockMakers(input: FigureInput, context: BlockContext): BlockMaker[] {
  const { template, remarks, named } = context;
  const plots: BlockMaker[] =
    template === 'quality'
      ? [
          { id: 'histogram', make: figure((w, more) => histogramBlock(input, w, more)) },
          { id: 'variogram', make: figure((w, more) => variogramBlock(input, w, more)) },
          { id: 'cross-validation', make: figure((w, more) => crossValidationBlock(input, w, more)) },
          ...(input.insets ?? []).map((inset, i): BlockMaker => {
            const id = `inset-${i + 1}`;
            return { id, make: figure((w, more) => insetBlock(input, inset, w, id, more)) };
          }),
        ]
      : [];
  return [
    { id: 'class', make: (w) => classStatement(input, w) },
    { id: 'exceptions', make: (w) => exceptions(input, w, named) },
    { id: 'legend', make: (w) => legend(input, w) },
    { id: 'remarks', make: (w) => remarksBlock(remarks, w) },
    { id: 'cautions', make: (w) => cautions(input, w) },
    { id: 'notes', make: (w) => notesBlock(input, w) },
    { id: 'method', make: (w) => methodBlock(input, w) },
    { id: 'quality', make: (w) => qualityBlock(input, w) },
    ...plots,
    { id: 'class-detail', make: (w) => classDetail(input, w) },
    { id: 'scheme', make: (w) => schemeBlock(input, w) },
    { id: 'sheet-data', make: (w) => sheetDataBlock(input, w, template === 'permit') },
  ];
}

export function makeBlocks(makers: readonly BlockMaker[], widthMm: number): Block[] {
  return makers.flatMap((maker) => maker.make(widthMm) ?? []);
}
