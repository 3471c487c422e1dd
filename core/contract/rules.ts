/** Requests on the rules a project is judged by: limits behind the findings, and schemes that come as files. */
import type { DilutionFinding, ProjectView, Treatment, WaterFinding } from './model.ts';
import type { FlagThresholds } from './settings.ts';

export interface ThresholdOutcome {
  readonly dilution: DilutionFinding;
  readonly water: WaterFinding;
  readonly treatment: Treatment;
  /** Rules that fired, in the order of the flags. */
  readonly rules: readonly string[];
}

export interface ThresholdChange {
  readonly sampleId: string;
  readonly probeId: string;
  readonly before: ThresholdOutcome;
  readonly after: ThresholdOutcome;
  /** False where a ruling holds the treatment as it is, or only the findings change. */
  readonly changesTreatment: boolean;
}

/** What the scheme says under one set of limits, in short. */
export interface ClassInShort {
  /** The class, the classes left open, or 'no class'. */
  readonly words: string;
  readonly statisticKBqPerM3: number | null;
  readonly validCount: number;
}

export interface ThresholdPreview {
  /** `label` is the probe's, with the kind where it is no first grab. */
  readonly changes: readonly (ThresholdChange & { readonly label: string })[];
  /** Null where the scheme cannot be asked, with the reason. */
  readonly class: { readonly before: ClassInShort; readonly after: ClassInShort } | null;
  readonly noClass: string | null;
}

export interface SchemeLimitInfo {
  readonly label: string;
  readonly value: number;
  readonly unit: string;
  readonly source: string;
  /** In words, such as 'from memory'; null where the source was seen. */
  readonly unconfirmed: string | null;
}

export interface SchemeInfo {
  readonly id: string;
  readonly name: string;
  readonly edition: string;
  readonly homeCountry: string | null;
  /** 'program': comes with it. 'project': kept in the project file. 'folder': of the user, not yet in the project. */
  readonly origin: 'program' | 'project' | 'folder';
  readonly file: string | null;
  /** Where a scheme of the folder is read from. */
  readonly path: string | null;
  /** Of the file, where there is one. */
  readonly sha256: string | null;
  /** Compares with limits that a person enters. */
  readonly needsLimits: boolean;
  readonly statisticName: string;
  /** As for a limit; of the rule of a quantile. */
  readonly statisticUnconfirmed: string | null;
  readonly sources: readonly string[];
  readonly limits: readonly SchemeLimitInfo[];
  /** Limits that can be chosen where the ground is as `ground` says. */
  readonly raised: readonly (SchemeLimitInfo & { readonly id: string; readonly ground: string })[];
  readonly cautions: readonly string[];
}

export interface SchemeList {
  readonly schemes: readonly SchemeInfo[];
  /** Folder that a person puts scheme files in; it need not be there. */
  readonly folder: string;
  /** Files of folder or project that cannot be used, each with every fault. */
  readonly faults: readonly { readonly file: string; readonly message: string }[];
}

export interface RuleRequests {
  /** What other limits would change; nothing is stored. */
  'thresholds.preview': {
    input: { thresholds: FlagThresholds; referenceDepthM: number };
    output: ThresholdPreview;
  };
  'scheme.list': { input: Record<string, never>; output: SchemeList };
  /** Keeps the file in the project and chooses it; takes the place of an earlier file with the same id. */
  'scheme.import': { input: { path: string }; output: ProjectView };
  /** Refused for the scheme in use. */
  'scheme.remove': { input: { sha256: string }; output: ProjectView };
}
