/** Requests on what a person types in without a file, and on taking out what came in by mistake. */
import type { PermeabilityClass, ProjectView, SampleValues } from './model.ts';

export interface EnteredReading {
  /** null where the instrument has only one. */
  readonly window: string | null;
  /** From the end of drawing the gas. */
  readonly startS: number;
  readonly lengthS: number;
  /** The whole interval where null. */
  readonly liveS: number | null;
  readonly counts: number;
}

/** What the instrument made of one interval by itself. */
export interface EnteredValue {
  /** From the end of drawing the gas. */
  readonly startS: number;
  readonly lengthS: number;
  /** The whole interval where null. */
  readonly liveS: number | null;
  readonly radonKBqPerM3: number;
  /** k = 1, of counting alone; null where the instrument gives none. */
  readonly uKBqPerM3: number | null;
}

/** A sample as typed; null: not known. */
export interface SampleEntry extends SampleValues {
  readonly probeLabel: string;
  /** In the project's own coordinates; needed for a probe that is not there yet, and only for it. */
  readonly place: readonly [x: number, y: number] | null;
  /** Of a probe that is not there yet. */
  readonly soil: string | null;
  readonly permeabilityClass: PermeabilityClass | null;
  /** No gas came though no water was seen: the ground is tight. */
  readonly saidTight: boolean;
  /** The probe could not be driven: it has no value, and the depth is where it stopped. */
  readonly saidRefused: boolean;
  /** null: not looked at, which is never the same as passed. */
  readonly leakTestPassed: boolean | null;
  readonly instrumentId: string | null;
  readonly readings: readonly EnteredReading[];
  readonly values: readonly EnteredValue[];
  /** Values that start sooner are left out of the mean; what is usual for the instrument where null. */
  readonly ingrowthS: number | null;
}

/** Mean of interval values, as the sample will have it. */
export interface ValueMean {
  /** Before a correction for other air; null where there is no mean: `problem` says why. */
  readonly mean: { readonly radonKBqPerM3: number; readonly uKBqPerM3: number } | null;
  readonly problem: string | null;
  /** Of each value asked about: whether it stands in the mean. All false where there is none. */
  readonly used: readonly boolean[];
  /** null where it is not known. */
  readonly ingrowthS: number | null;
  /** Values of the sample that came from a file and stand in the mean too. */
  readonly usedFromFile: number;
  readonly notes: readonly string[];
}

/** A file that brought counts or interval values. */
export interface ReadingFile {
  readonly sha256: string;
  readonly file: string;
  readonly readings: number;
  readonly values: number;
  readonly backgrounds: number;
  readonly samples: number;
  /** Samples made for them that hold nothing else. */
  readonly bareSamples: number;
}

export interface HandEntryRequests {
  /** A new sample where `sampleId` is null. One that came from a file is refused: it keeps its origin. */
  'sample.enter': {
    input: { sampleId: string | null; entry: SampleEntry };
    output: { view: ProjectView; sampleId: string };
  };
  /** As it was typed; null for a sample that came from a file. */
  'sample.entry': { input: { sampleId: string }; output: { entry: SampleEntry | null } };
  /** The mean of values while they are typed; nothing is written. */
  'values.average': {
    input: Pick<SampleEntry, 'instrumentId' | 'ingrowthS' | 'values'> & { sampleId: string | null };
    output: ValueMean;
  };
  /** Only one typed in; others are left out by ruling. */
  'sample.remove': { input: { sampleId: string }; output: ProjectView };
  'readings.files': { input: Record<string, never>; output: { files: readonly ReadingFile[] } };
  /** All that one file brought: counts, interval values, backgrounds, and samples that hold nothing else. */
  'readings.remove': { input: { sha256: string }; output: ProjectView };
  /** Only one that no sample names. */
  'instrument.remove': { input: { id: string }; output: ProjectView };
}
