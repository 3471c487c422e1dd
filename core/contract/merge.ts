/** Requests that bring a colleague's project into the open one. */
import type { ProjectView } from './model.ts';

export type MergeTake = 'mine' | 'theirs' | 'both';

export interface MergeConflictView {
  /** Names the conflict in `choices`. */
  readonly key: string;
  readonly kind: 'probe' | 'sample' | 'instrument' | 'keep-out' | 'day';
  /** Such as 'Probe P7'. */
  readonly what: string;
  readonly fields: readonly { readonly name: string; readonly mine: string; readonly theirs: string }[];
  /** Whether theirs can be kept beside mine. */
  readonly allowsBoth: boolean;
  /** Label that theirs would take beside mine; null where none is needed. */
  readonly newLabel: string | null;
  /** Conflict of its probe: once theirs is kept as a probe of its own, this one falls away. */
  readonly under: string | null;
}

/** What a project holds once, said otherwise by theirs: mine stays where nobody chooses. */
export interface MergeDifferenceView {
  /** Names it in `choices`, where 'theirs' takes it. */
  readonly key: string;
  readonly what: string;
  readonly fields: readonly { readonly name: string; readonly mine: string; readonly theirs: string }[];
  /** What follows from taking theirs; null where nothing else does. */
  readonly hint: string | null;
}

export interface MergePreview {
  readonly file: string;
  readonly name: string;
  /** State of their project that this tells of. */
  readonly recordHash: string;
  readonly added: {
    readonly probes: readonly string[];
    /** By the label of the probe. */
    readonly samples: readonly string[];
    readonly instruments: readonly string[];
    readonly keepOuts: readonly string[];
    readonly days: readonly string[];
    readonly files: readonly string[];
  };
  /** Gaps of mine that theirs fills, in words. */
  readonly filled: readonly { readonly what: string; readonly fields: readonly string[] }[];
  readonly same: number;
  readonly conflicts: readonly MergeConflictView[];
  /** Settings, building and placements, control points. */
  readonly differences: readonly MergeDifferenceView[];
  readonly notes: readonly string[];
}

export interface MergeChoice {
  readonly take: MergeTake;
  /** With 'both'; `newLabel` where absent. */
  readonly label?: string;
}

export interface MergeReport {
  readonly file: string;
  readonly summary: string;
  readonly probesAdded: number;
  readonly samplesAdded: number;
  readonly readingsAdded: number;
  readonly recordsFilled: number;
  readonly recordsReplaced: number;
  /** Of settings, placements and control points: those taken as theirs, in words. */
  readonly differencesTaken: readonly string[];
}

export interface MergeRequests {
  /** The other project is opened for reading only and left as it is. */
  'merge.preview': { input: { path: string }; output: MergePreview };
  /** In one change. Every conflict needs a choice, a difference needs none; `recordHash` is that of the preview. */
  'merge.commit': {
    input: { path: string; recordHash: string; choices: Readonly<Record<string, MergeChoice>> };
    output: { view: ProjectView; report: MergeReport };
  };
}
