import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';

export type Filling =
  /** Pumped through line and chamber. */
  | {
      readonly kind: 'flow-through';
      readonly pumpedM3: number;
      readonly lineM3: number;
      readonly chamberM3: number;
    }
  /** Line purged, then gas drawn by a syringe or let into an evacuated chamber. */
  | {
      readonly kind: 'evacuated';
      readonly purgedM3: number;
      readonly lineM3: number;
      readonly chamberM3: number;
      /** Air left in the chamber before it was opened: its pressure over the outside pressure. */
      readonly residualShare: number;
    }
  /** A closed round of soil gas and system: what was in the system dilutes it. */
  | {
      readonly kind: 'closed-loop';
      readonly soilGasM3: number;
      readonly systemM3: number;
      readonly circulatedM3: number;
    };

export interface SoilGasShare {
  /** Share of soil gas in the chamber if gas pushed the air ahead of it. */
  readonly plugFlow: number;
  /** The same if it mixed with it at once. */
  readonly wellMixed: number;
  /** Pumped volume over the volume it had to fill. */
  readonly systemVolumes: number;
  readonly warnings: readonly string[];
}

/** Common practice: three volumes of the system (California DTSC advisory, section 4.2.3: default of three). */
export const LEAST_SYSTEM_VOLUMES = 3;

/**
 * Share of soil gas in the chamber, by both limits of how air is driven out. The truth lies between them.
 * @throws AppError BAD_INPUT for volumes that are not positive
 */
export function soilGasShare(filling: Filling): SoilGasShare {
  checkVolumes(filling);
  const shares = sharesOf(filling);
  const warnings: string[] = [];
  if (shares.systemVolumes < LEAST_SYSTEM_VOLUMES * (1 - 1e-9))
    warnings.push(
      `Only ${shares.systemVolumes.toFixed(1)} system volumes pumped, fewer than ${LEAST_SYSTEM_VOLUMES}: the sample holds air that was in the system.`,
    );
  if (filling.kind === 'evacuated' && filling.residualShare > 0)
    warnings.push(`${(100 * filling.residualShare).toFixed(1)} % of the chamber was air before the draw.`);
  return { ...shares, warnings };
}

function sharesOf(filling: Filling): Omit<SoilGasShare, 'warnings'> {
  switch (filling.kind) {
    case 'flow-through': {
      const { pumpedM3, lineM3, chamberM3 } = filling;
      const systemM3 = lineM3 + chamberM3;
      return {
        plugFlow: Math.min(1, Math.max(0, (pumpedM3 - lineM3) / chamberM3)),
        wellMixed: -Math.expm1(-pumpedM3 / systemM3),
        systemVolumes: pumpedM3 / systemM3,
      };
    }
    case 'evacuated': {
      const { purgedM3, lineM3, chamberM3, residualShare } = filling;
      const drawnM3 = chamberM3 * (1 - residualShare);
      const plugAirM3 = Math.min(drawnM3, Math.max(0, lineM3 - purgedM3));
      const mixedAirM3 = lineM3 * Math.exp(-purgedM3 / lineM3) * -Math.expm1(-drawnM3 / lineM3);
      return {
        plugFlow: (drawnM3 - plugAirM3) / chamberM3,
        wellMixed: (drawnM3 - mixedAirM3) / chamberM3,
        systemVolumes: purgedM3 / lineM3,
      };
    }
    case 'closed-loop': {
      const totalM3 = filling.soilGasM3 + filling.systemM3;
      const share = filling.soilGasM3 / totalM3;
      const systemVolumes = filling.circulatedM3 / totalM3;
      return { plugFlow: share, wellMixed: share * -Math.expm1(-systemVolumes), systemVolumes };
    }
  }
}

function checkVolumes(filling: Filling): void {
  for (const [field, value] of Object.entries(filling)) {
    if (field === 'kind') continue;
    const mayBeZero = field === 'residualShare' || field === 'purgedM3' || field === 'circulatedM3';
    if (typeof value === 'number' && (value > 0 || (mayBeZero && value === 0)) && Number.isFinite(value))
      continue;
    throw new AppError('BAD_INPUT', `${field} must be ${mayBeZero ? '0 or more' : 'over 0'}, not ${value}`, {
      field,
    });
  }
  if (filling.kind === 'evacuated' && filling.residualShare >= 1)
    throw new AppError('BAD_INPUT', 'A chamber that was never evacuated draws no gas', {
      field: 'residualShare',
    });
}

/** The share by the model chosen; the other model's distance is its doubt, any value between equally likely. */
export function chosenShare(share: SoilGasShare, model: 'plugFlow' | 'wellMixed' | 'middle'): Uncertain {
  const distance = Math.abs(share.plugFlow - share.wellMixed);
  if (model === 'middle')
    return { value: (share.plugFlow + share.wellMixed) / 2, u: distance / Math.sqrt(12) };
  // one end of the range: second moment of the distance about it
  return { value: share[model], u: distance / Math.sqrt(3) };
}
