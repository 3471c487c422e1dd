/** Requests on images of site plans, shown under the map. They change the project through its record, like all else. */
import type { PositionM, ProjectView } from './model.ts';

/** A point seen in the image and known on the ground. */
export interface SitePlanPoint {
  readonly label: string;
  /** From the upper left corner; the row grows downward. */
  readonly pixel: readonly [column: number, row: number];
  /** In the project's own coordinates. */
  readonly native: readonly [x: number, y: number];
}

export interface SitePlanView {
  readonly id: string;
  readonly label: string;
  readonly file: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Null until it is placed. */
  readonly placedBy: 'points' | 'world-file' | 'geotiff' | null;
  readonly fit: 'similarity' | 'affine';
  readonly points: readonly SitePlanPoint[];
  /** Fitted minus given place of each point, metres; empty unless placed by points. */
  readonly residuals: readonly {
    readonly label: string;
    readonly eastM: number;
    readonly northM: number;
    readonly lengthM: number;
  }[];
  /** Null where nothing is left over to judge by. */
  readonly standardDeviationM: number | null;
  readonly metresPerPixel: number | null;
  /** Upper left, upper right, lower right, lower left, project metres; null until it is placed. */
  readonly cornersM: readonly [PositionM, PositionM, PositionM, PositionM] | null;
  readonly opacity: number;
  readonly isShown: boolean;
  readonly warnings: readonly string[];
}

/** An image as the window can draw it. */
export type SitePlanImage =
  | { readonly kind: 'file'; readonly mediaType: string; readonly bytes: Uint8Array }
  /** Red, green, blue, opacity, rows from the top. */
  | {
      readonly kind: 'pixels';
      readonly widthPx: number;
      readonly heightPx: number;
      readonly rgba: Uint8Array;
    };

interface Changed {
  view: ProjectView;
  plans: readonly SitePlanView[];
}

export interface SitePlanRequests {
  'site-plan.list': { input: Record<string, never>; output: { plans: readonly SitePlanView[] } };
  /** Places itself where a world file lies beside it, or where it is a GeoTIFF. */
  'site-plan.add': { input: { path: string }; output: Changed & { id: string; notes: readonly string[] } };
  /** All points at once, in place of those there are. */
  'site-plan.place': {
    input: { id: string; fit: 'similarity' | 'affine'; points: readonly SitePlanPoint[] };
    output: Changed;
  };
  /** What the points would give; nothing is written. */
  'site-plan.try': {
    input: { id: string; fit: 'similarity' | 'affine'; points: readonly SitePlanPoint[] };
    output: { plan: SitePlanView };
  };
  'site-plan.set': {
    input: { id: string; label?: string; opacity?: number; isShown?: boolean };
    output: Changed;
  };
  'site-plan.remove': { input: { id: string }; output: Changed };
  'site-plan.image': { input: { id: string }; output: SitePlanImage };
}
