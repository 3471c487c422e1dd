import { AppError } from '../errors.ts';

export const ZERO_CELSIUS_K = 273.15;

/** Within 0.4 % of handbook values from 0 to 60 C; humidity of soil air lowers it by less than 1 % (own estimate). */
export const VISCOSITY_U_REL = 0.005;

/**
 * Dynamic viscosity of dry air by Sutherland's formula with 1.716e-5 Pa s at 0 C and 110.4 K (constants from memory;
 * checked against Bird, Stewart and Lightfoot, table 1.1-2).
 * @throws AppError BAD_INPUT outside -40..80 C
 */
export function airViscosityPaS(temperatureC: number): number {
  if (!(temperatureC >= -40 && temperatureC <= 80))
    throw new AppError('BAD_INPUT', `Temperature of the soil gas is out of range: ${temperatureC} C`, {
      field: 'temperatureC',
    });
  const t = temperatureC + ZERO_CELSIUS_K;
  return (1.716e-5 * (t / ZERO_CELSIUS_K) ** 1.5 * (ZERO_CELSIUS_K + 110.4)) / (t + 110.4);
}
