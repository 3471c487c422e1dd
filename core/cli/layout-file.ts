/** Places of a sheet's parts as a file, to be written by one figure and read by another. */
import { readFileSync } from 'node:fs';
import type { SheetChanges, SheetKind, SheetLayoutView } from '../contract/sheet.ts';
import { layoutFileSchema } from '../contract/sheet-schemas.ts';
import { AppError } from '../errors.ts';

export interface LayoutFile extends SheetKind {
  readonly form: 1;
  readonly parts: SheetChanges;
}

/** Every part where it stands now, to the micrometre. */
function layoutFileOf({ template, page, orientation, parts }: SheetLayoutView): LayoutFile {
  const mm = (value: number): number => Number(value.toFixed(3));
  return {
    form: 1,
    template,
    page,
    orientation,
    parts: Object.fromEntries(
      parts.map(({ id, hidden, ...part }) => [
        id,
        {
          place: {
            page: part.page,
            xMm: mm(part.xMm),
            yMm: mm(part.yMm),
            widthMm: mm(part.widthMm),
            heightMm: mm(part.heightMm),
          },
          hidden,
        },
      ]),
    ),
  };
}

/** The file's text, which a person may edit. */
export function layoutText(layout: SheetLayoutView): string {
  return `${JSON.stringify(layoutFileOf(layout), null, 2)}\n`;
}

/** @throws AppError BAD_INPUT for a file that is not there or is no file of places, naming what is wrong in it */
export function readLayoutFile(path: string): LayoutFile {
  let read: unknown;
  try {
    read = JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new AppError('BAD_INPUT', `${path} cannot be read as a file of places: ${why}`, { file: path });
  }
  const parsed = layoutFileSchema.safeParse(read);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  throw new AppError(
    'BAD_INPUT',
    `${path} is no file of places: ${issue?.path.join('.') ?? ''}: ${issue?.message ?? 'not understood'}`,
    { file: path, field: issue?.path.join('.') ?? '' },
  );
}
