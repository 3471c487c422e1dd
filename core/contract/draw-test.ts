/** Permeability in place from flow and suction: how a project's draws are made, and what a sample's draw gave. */

/** The open part of the probe that gas comes in by. */
export type DrawCavity =
  | { readonly kind: 'cylinder'; readonly lengthM: number; readonly diameterM: number }
  /** As calibrated for the probe; `source` says by whom and how. */
  | { readonly kind: 'stated'; readonly shapeFactorM: number; readonly source: string };

/** What line and probe alone need: measured in open air (it rises with the flow), or by the tube's length and bore. */
export type DrawLine =
  | { readonly kind: 'measured'; readonly lossPa: number; readonly atFlowMlPerMin: number }
  | { readonly kind: 'tube'; readonly lengthM: number; readonly boreM: number };

/** Numbers of the set-up that start with a standard value. `UPct`: relative standard uncertainty, %. */
export interface DrawNumbers {
  readonly leastFlowMlPerMin: number;
  readonly leastSuctionPa: number;
  readonly soilTemperatureC: number;
  readonly soilTemperatureUC: number;
  readonly meterTemperatureC: number;
  readonly airPressureHPa: number;
  readonly flowUPct: number;
  readonly suctionUPct: number;
  readonly lineLossUPct: number;
  readonly shapeFactorUPct: number;
}

export interface DrawTest extends DrawNumbers {
  readonly cavity: DrawCavity;
  readonly line: DrawLine;
  /** 'outside': behind the pump, at outside pressure. 'line': at the suction that the gauge shows. */
  readonly meteredAt: 'outside' | 'line';
}

/** One number of the set-up: its standard value and where that comes from. */
export interface DrawNumberInfo {
  readonly key: keyof DrawNumbers;
  readonly label: string;
  readonly unit: string;
  readonly standard: number;
  readonly source: string;
  readonly mark: string;
}

/** m2, as a class takes it. A bound stays a bound. */
export type DrawnGround =
  | { readonly kind: 'value'; readonly permeabilityM2: number; readonly uM2: number }
  | { readonly kind: 'lessThan' | 'moreThan'; readonly boundM2: number };

/** What flow and suction of one sample say. */
export interface SampleDraw {
  /** null where they say nothing; the notes tell why. */
  readonly ground: DrawnGround | null;
  /** Whether a class may take it: not where water may stand behind it, nor where the probe has its own. */
  readonly enters: boolean;
  readonly notes: readonly string[];
}
