import type { Input } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { nativeText, ringToFrame } from '../geo/frame.ts';
import { validateLot } from '../geo/planar.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Flag01 } from '../store/rows.ts';
import { frameOf, originFor, projectRow } from './frame-of.ts';

/** Ground where no probe is driven: a polygon or a line, with a strip of `bufferM` around it. */
export function setKeepOut(store: ProjectStore, input: Input<'keepout.set'>): void {
  const { id, label, shape, points, bufferM, blocksWalk } = input;
  const origin = originFor(store, points);
  if (shape === 'polygon') {
    const frame = frameOf(store, origin);
    validateLot(ringToFrame(frame, points), {}, 'keep-out', (at) => nativeText(frame, at));
  } else if (points.length < 2) {
    throw new AppError(
      'BAD_INPUT',
      `The keep-out line "${label}" has ${points.length} points; it needs at least 2.`,
    );
  }
  const row = { label, shape, points_json: JSON.stringify(points), buffer_m: bufferM };
  const blocks_walk = walkCell(blocksWalk);
  store.change('keepout.set', `Set the keep-out ${label}`, (tx) => {
    tx.update('project', projectRow(store).id, { origin_x: origin[0], origin_y: origin[1] });
    if (id === null) tx.insert('keep_out', { ...row, blocks_walk });
    else tx.update('keep_out', id, { ...row, blocks_walk });
  });
}

const walkCell = (blocks: boolean | undefined): Flag01 | null =>
  blocks === undefined ? null : blocks ? 1 : 0;

/** Keep-outs of a file, in one change; those that are there already, corner for corner, are not doubled. @returns added */
export function addKeepOuts(
  store: ProjectStore,
  drafts: readonly Omit<Input<'keepout.set'>, 'id'>[],
  source: string,
): number {
  const origin = originFor(
    store,
    drafts.flatMap((d) => d.points),
  );
  const known = new Set(store.rows('keep_out').map((k) => `${k.label} ${k.shape} ${k.points_json}`));
  const fresh = drafts
    .map(({ label, shape, points, bufferM, blocksWalk }) => {
      const blocks_walk = walkCell(blocksWalk);
      return { label, shape, points_json: JSON.stringify(points), buffer_m: bufferM, blocks_walk };
    })
    .filter((row) => !known.has(`${row.label} ${row.shape} ${row.points_json}`));
  if (fresh.length === 0) return 0;
  store.change('geometry.import', `Take ${fresh.length} keep-outs from ${source}`, (tx) => {
    tx.update('project', projectRow(store).id, { origin_x: origin[0], origin_y: origin[1] });
    for (const row of fresh) tx.insert('keep_out', row);
  });
  return fresh.length;
}

export function removeKeepOut(store: ProjectStore, id: string): void {
  const row = store.row('keep_out', id);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no keep-out "${id}" in this project.`);
  store.change('keepout.remove', `Remove the keep-out ${row.label}`, (tx) => tx.remove('keep_out', id));
}
