import { settingsSchema } from '../contract/schemas.ts';
import type { ProjectSettings, SurfaceSettings } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import { defaultThresholds } from '../survey/thresholds.ts';

/** What a new project starts with. Depth 0.8 m is that of the default scheme (Neznal et al. 2004). */
export function defaultSettings(): ProjectSettings {
  return {
    schemeId: 'czech-building-site-index',
    enteredLimitsKBqPerM3: [],
    referenceDepthM: 0.8,
    thresholds: defaultThresholds(),
    surface: defaultSurface(),
    radonUnit: 'kBq/m3',
  };
}

function defaultSurface(): SurfaceSettings {
  return {
    method: 'kriging',
    model: 'auto',
    transform: 'auto',
    drift: 'constant',
    idwPower: 2,
    cellM: null,
    shallow: 'lower-bound',
    diffusionLengthM: null,
  };
}

/**
 * Settings as a project keeps them; limits and choices that a later version added take their standard value.
 * @throws AppError STORE_DAMAGED when the stored text is not settings
 */
export function parseSettings(json: string): ProjectSettings {
  const stored = JSON.parse(json) as { readonly thresholds?: object; readonly surface?: object };
  const parsed = settingsSchema.safeParse({
    ...stored,
    thresholds: { ...defaultThresholds(), ...stored.thresholds },
    surface: { ...defaultSurface(), ...stored.surface },
  });
  if (!parsed.success) {
    throw new AppError(
      'STORE_DAMAGED',
      `The project's settings cannot be read: ${parsed.error.issues[0]?.message}`,
    );
  }
  return parsed.data as unknown as ProjectSettings;
}
