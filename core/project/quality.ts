/** Quality and checklist of an open project. */
import { divideProbes } from '../classify/points.ts';
import type { ProjectView } from '../contract/model.ts';
import type { LeaveSite, QualitySummary } from '../contract/quality.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { UsedInstrument } from '../survey/day-backgrounds.ts';
import { leaveSiteChecklist } from '../survey/leave-site.ts';
import { summariseQuality } from '../survey/quality-summary.ts';
import { workingDays } from '../survey/working-days.ts';
import { probeValues } from './classify-lot.ts';
import { listDayLogs } from './day-log.ts';
import { listInstruments } from './instruments.ts';
import { schemeOf } from './schemes.ts';

export function summariseProject(store: ReadableStore, view: ProjectView): QualitySummary {
  const { probes, samples, assessments, settings } = view;
  return summariseQuality({
    probes,
    samples,
    assessments,
    thresholds: settings.thresholds,
    instruments: usedInstruments(store),
    logs: listDayLogs(store),
  });
}

export function checkLeaving(store: ReadableStore, view: ProjectView): LeaveSite {
  const { probes, samples, assessments, settings } = view;
  const scheme = schemeOf(view);
  return leaveSiteChecklist({
    probes,
    samples,
    assessments,
    thresholds: settings.thresholds,
    validCount: divideProbes(probeValues(view), scheme).valid.length,
    minimumCount: scheme.minimumCount.value,
    instruments: usedInstruments(store),
    logs: listDayLogs(store),
  });
}

/** Days with samples of which no log tells. */
export function unloggedDays(store: ReadableStore, view: ProjectView): string[] {
  return workingDays(view.samples, listDayLogs(store))
    .filter((day) => day.log === null)
    .map((day) => day.day);
}

function usedInstruments(store: ReadableStore): UsedInstrument[] {
  return listInstruments(store).map(({ label, calibratedOn, backgrounds }) => ({
    label,
    certificateUtc: calibratedOn,
    backgrounds,
  }));
}
