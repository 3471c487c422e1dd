import type { ProjectSettings } from '../contract/settings.ts';
import { drawTestWords } from '../survey/draw-numbers.ts';

const NAMES: Record<keyof ProjectSettings, string> = {
  schemeId: 'scheme',
  enteredLimitsKBqPerM3: 'own limits',
  raisedLimitId: 'raised limit',
  schemeFiles: 'scheme files',
  referenceDepthM: 'reference depth, m',
  drawTest: 'draw test',
  thresholds: 'limits of findings',
  surface: 'surface',
  radonUnit: 'radon unit',
  sitePlanInFigure: 'site plan in the figure',
};

/** What a change of settings changes, for the record: 'scheme, radon unit to pCi/L'; empty where nothing does. */
export function changedSettings(before: ProjectSettings, after: ProjectSettings): string {
  return (Object.keys(NAMES) as (keyof ProjectSettings)[])
    .filter((key) => JSON.stringify(before[key]) !== JSON.stringify(after[key]))
    .map((key) => {
      if (key === 'drawTest')
        return after.drawTest === undefined
          ? 'draw test taken off'
          : `draw test: ${drawTestWords(after.drawTest)}`;
      const value = after[key];
      return typeof value === 'string' || typeof value === 'number'
        ? `${NAMES[key]} to ${value}`
        : NAMES[key];
    })
    .join(', ');
}
