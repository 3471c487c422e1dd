import type { ProjectCrs } from '../contract/model.ts';
import { transformByStrings } from '../geo/crs.ts';
import { findCrs } from '../geo/crs-table.ts';
import type { PositionNative } from '../geo/frame.ts';
import { makeFrame } from '../geo/frame.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { createProject } from '../store/open-project.ts';
import { defaultSettings } from './settings.ts';

export interface NewProject {
  readonly path: string;
  readonly name: string;
  readonly crs: ProjectCrs;
  readonly actor: string;
  readonly isDemo?: boolean;
  readonly note?: string;
}

/** @throws AppError BAD_INPUT for a system that lengths cannot be computed in, before anything is written */
export function newProject(input: NewProject): ProjectStore {
  const origin = startingOrigin(input.crs);
  makeFrame(input.crs, origin);
  return createProject(input.path, {
    actor: input.actor,
    project: {
      name: input.name,
      note: input.note ?? null,
      is_demo: input.isDemo === true ? 1 : 0,
      crs_json: JSON.stringify(input.crs),
      origin_x: origin[0],
      origin_y: origin[1],
      settings_json: JSON.stringify(defaultSettings()),
    },
  });
}

/** Until the first geometry: the middle of the area the system is made for, where its scale is true. */
function startingOrigin(crs: ProjectCrs): PositionNative {
  if (crs.kind === 'local') return [0, 0];
  const entry = findCrs(crs.code);
  if (entry.kind === 'geographic') return [0, 0];
  const [west, south, east, north] = entry.areaWsen;
  const longitude = west <= east ? (west + east) / 2 : (((west + east + 360) / 2 + 540) % 360) - 180;
  const middle = Float64Array.of(longitude, (south + north) / 2);
  const [x = 0, y = 0] = transformByStrings(
    '+proj=longlat +ellps=WGS84 +no_defs',
    entry.proj4,
    middle,
    entry.name,
  );
  return [Math.round(x), Math.round(y)];
}
