import { basename } from 'node:path';
import { readControlPoints } from '../exchange/read-control.ts';
import { readWhole } from '../project/files.ts';
import { addSitePlan, listSitePlans } from '../project/site-plans.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CommandContext, CommandOutput } from './command.ts';
import { choice, text } from './flags.ts';

/** `import --what site-plan`: an image, placed by its own files or by a table of control points. */
export async function importSitePlan(
  context: CommandContext,
  store: ProjectStore,
  file: string,
): Promise<CommandOutput> {
  const control = text(context, 'control');
  const fit = choice(context, 'fit', ['similarity', 'affine'], 'similarity');
  const placing =
    control === undefined
      ? undefined
      : { fit, points: readControlPoints(readWhole(control), basename(control)) };
  const { id, notes } = await addSitePlan(store, file, placing);
  const plan = listSitePlans(store).find((one) => one.id === id);
  const residuals = plan?.residuals ?? [];
  const lines = residuals.map(
    ({ label, eastM, northM, lengthM }) =>
      `  ${label}: off by ${lengthM.toFixed(3)} m (east ${eastM.toFixed(3)}, north ${northM.toFixed(3)})`,
  );
  const scale = plan?.metresPerPixel ?? null;
  const head = `Site plan ${plan?.label} kept: ${plan?.widthPx} by ${plan?.heightPx} pixels${
    scale === null ? ', not placed' : `, ${scale.toPrecision(4)} m each`
  }`;
  return {
    json: { file, plan, notes },
    text: [head, ...lines, ...notes.map((note) => `  ${note}`)].join('\n'),
  };
}
