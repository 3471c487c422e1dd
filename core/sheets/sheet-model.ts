/** What field sheets are made of, as plain data: filled from a project, or by hand in a test. */
import type { Footprint, KeepOut, PositionM, ProjectFrame, RingM } from '../contract/model.ts';
import type { SymbolKind } from '../contract/symbols.ts';

export interface SheetProbe {
  readonly label: string;
  /** As printed and as typed back. */
  readonly code: string;
  readonly positionM: PositionM;
  readonly native: readonly [x: number, y: number];
  readonly depthM: number | null;
  readonly symbol: SymbolKind;
}

/** Probes that follow each other in one walk from the start and back. */
export interface SheetRound {
  /** Such as 'day 1, instrument 2'; null where there is one round only. */
  readonly name: string | null;
  readonly count: number;
}

/** Something asked for beside the probes themselves. */
export interface SheetReminder {
  readonly text: string;
  /** Who asks: the scheme by name, guidance, or common practice; 'unconfirmed' where no source was seen. */
  readonly asker: string;
}

export interface FieldSheetInput {
  readonly projectName: string;
  /** Job number, address and firm where the project keeps them. */
  readonly details: readonly string[];
  readonly isDemo: boolean;
  readonly revision: number;
  /** Hash of the last record entry; null in a project without one. */
  readonly recordHash: string | null;
  /** ISO 8601, UTC. Passed in, so that the same sheets give the same bytes. */
  readonly createdUtc: string;
  /** Name and version of the program. */
  readonly program: string;
  readonly frame: ProjectFrame;
  readonly lot: RingM | null;
  readonly footprint: Footprint | null;
  readonly keepOuts: readonly KeepOut[];
  /** Those to visit, in the order of the walk. */
  readonly probes: readonly SheetProbe[];
  /** Their counts add up to the probes. */
  readonly rounds: readonly SheetRound[];
  /** The others, for the map alone. */
  readonly others: readonly Omit<SheetProbe, 'code' | 'depthM'>[];
  readonly startM: PositionM;
  readonly walkM: number;
  /** From the start through all rounds and back, with the corners it turns at. */
  readonly walkLineM: readonly PositionM[];
  /** What it goes round, and what it does not see. */
  readonly walkWords: string;
  readonly walkNotes: readonly string[];
  /** What the order is, in words. */
  readonly orderWords: string;
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
  readonly checks: readonly SheetReminder[];
  readonly reminders: readonly SheetReminder[];
  readonly cautions: readonly string[];
}

export type SheetForm = 'list' | 'cards';
export type SheetPage = 'A4' | 'Letter';
