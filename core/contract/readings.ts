/** Requests on counts: what they bring, what they are reduced with, and how each sample was handled. */
import type { AirCorrectionChoice, FillWayName, Instrument, InstrumentEntry, ProjectView } from './model.ts';
import type { RowIssue } from './requests.ts';
import type { SampleReduction } from './results.ts';

/** What a table of counts brought; `rowsKnown` counts numbers that were there already. */
export interface ReadingsReport {
  readonly file: string;
  readonly readingsAdded: number;
  /** Intervals that the instrument gave as values. */
  readonly valuesAdded: number;
  readonly samplesRead: number;
  /** Samples made for counts that belonged to none. */
  readonly samplesAdded: number;
  readonly backgroundsAdded: number;
  readonly rowsKnown: number;
  readonly issues: readonly RowIssue[];
}

export interface InstrumentsReport {
  readonly file: string;
  readonly instrumentsAdded: number;
  readonly instrumentsChanged: number;
  readonly backgroundsAdded: number;
  readonly rowsKnown: number;
  readonly issues: readonly RowIssue[];
}

/** What can be changed on how a sample was drawn, filled and corrected; a field that is absent stays as it is. */
export interface SampleHandling {
  readonly instrumentId?: string | null;
  readonly fillStartUtc?: string | null;
  readonly fillEndUtc?: string | null;
  readonly fillS?: number | null;
  readonly fillWay?: FillWayName | null;
  readonly transitS?: number | null;
  readonly flushS?: number | null;
  /** 'by-time': the samples before it on its instrument. 'clean': nothing was left of any. Else the id of one. */
  readonly before?: 'by-time' | 'clean' | { readonly sampleId: string };
  readonly correction?: AirCorrectionChoice | null;
  readonly pumpedMl?: number | null;
  readonly lineMl?: number | null;
  readonly soilGasMl?: number | null;
  readonly residualShare?: number | null;
  readonly tracerPct?: number | null;
  readonly tracerShroudPct?: number | null;
  readonly flowMlPerMin?: number | null;
  readonly airPorosity?: number | null;
  readonly leakTestPassed?: boolean | null;
  readonly saidDryerSpent?: boolean | null;
  readonly saidTight?: boolean | null;
}

export interface ReadingRequests {
  'readings.import': {
    input: { path: string; dryRun?: boolean };
    output: { view: ProjectView; report: ReadingsReport };
  };
  'instrument.list': { input: Record<string, never>; output: { instruments: readonly Instrument[] } };
  /** A new one where `id` is null. Its backgrounds become those given. */
  'instrument.set': { input: { id: string | null; instrument: InstrumentEntry }; output: ProjectView };
  'instrument.import': {
    input: { path: string; dryRun?: boolean };
    output: { view: ProjectView; report: InstrumentsReport };
  };
  'sample.reduction': { input: { sampleId: string }; output: SampleReduction };
  'sample.handling': {
    input: { sampleIds: readonly string[]; handling: SampleHandling };
    output: ProjectView;
  };
}
