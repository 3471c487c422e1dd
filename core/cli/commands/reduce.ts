import type { SampleDraw } from '../../contract/draw-test.ts';
import type { ProjectView, RulingVerdict, SampleAssessment } from '../../contract/model.ts';
import { formatExpanded, formatMeasured } from '../../figure/words.ts';
import { setRuling, setSettings } from '../../project/edit.ts';
import { buildView } from '../../project/view.ts';
import type { ProjectStore } from '../../store/open-project.ts';
import { openProject } from '../../store/open-project.ts';
import { groundText } from '../../survey/drawn-permeability.ts';
import type { Command, CommandContext } from '../command.ts';
import { DRAW_NAMES, drawTestOf } from '../draw-test-flags.ts';
import { explainSamples, probeOf, reductionLine } from '../explain-samples.ts';
import { list, positional, text, usage } from '../flags.ts';
import { reduceAll } from './import.ts';

export const reduceCommand: Command = {
  name: 'reduce',
  usage:
    'reduce PROJECT.gasplat [--sample PROBE] [--ruling PROBE=VERDICT --reason TEXT] [--draw-test NAME=VALUE]',
  summary: 'every sample with its value, flags and treatment; give a ruling',
  positionals: { min: 1, max: 1 },
  options: {
    ruling: {
      type: 'string',
      value: 'PROBE=VERDICT',
      multiple: true,
      help: 'use, leave-out, lower-bound or none, for the samples of a probe',
    },
    reason: { type: 'string', help: 'why; printed in the report' },
    'draw-test': {
      type: 'string',
      value: 'NAME=VALUE',
      multiple: true,
      help: `how permeability follows from flow and suction, kept in the project; none takes it off. Names: ${DRAW_NAMES.join(', ')}`,
    },
    sample: {
      type: 'string',
      value: 'PROBE',
      help: 'from counts to value for the samples of one probe: fit, thresholds, what earlier samples left',
    },
  },
  async run(context) {
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      for (const entry of list(context, 'ruling')) {
        const { sampleIds, verdict } = readRuling(entry, buildView(store));
        setRuling(store, { sampleIds, verdict, reason: text(context, 'reason') ?? '' });
      }
      setDrawTest(context, store);
      await reduceAll(context, store);
      const view = buildView(store);
      const label = text(context, 'sample');
      if (label !== undefined) return explainSamples(store, view, label);
      const counts = countFindings(view);
      const rows = view.assessments.map((a) => sampleLine(view, a));
      return {
        json: {
          path: view.path,
          drawTest: view.settings.drawTest ?? null,
          counts,
          samples: view.assessments.map((a) => ({
            ...a,
            probe: labelOf(view, a.probeId),
            reduction: reductionOf(view, a),
            draw: sampleOf(view, a)?.draw ?? null,
          })),
        },
        text: `${rows.join('\n')}\n\n${countLine(counts)}`,
      };
    } finally {
      store.close();
    }
  },
};

function setDrawTest(context: CommandContext, store: ProjectStore): void {
  const entries = list(context, 'draw-test');
  if (entries.length === 0) return;
  const { drawTest: kept, ...rest } = buildView(store).settings;
  const drawTest = drawTestOf(entries, kept);
  setSettings(store, { ...rest, ...(drawTest === undefined ? {} : { drawTest }) });
}

function sampleOf(view: ProjectView, a: SampleAssessment) {
  return view.samples.find((s) => s.id === a.sampleId);
}

/** The number before anyone judges it, with all it rests on. */
function reductionOf(view: ProjectView, a: SampleAssessment) {
  const sample = sampleOf(view, a);
  const r = sample?.reduction;
  const value = sample?.radonKBqPerM3 ?? null;
  const below = sample?.radonBelowKBqPerM3 ?? null;
  const above = sample?.radonAboveKBqPerM3 ?? null;
  return {
    basis: r?.basis ?? (value === null && below === null && above === null ? 'none' : 'entered'),
    instrument: r?.instrument ?? null,
    readingCount: r?.readingCount ?? 0,
    valueKBqPerM3: value,
    uKBqPerM3: sample?.radonUKBqPerM3 ?? null,
    atMostKBqPerM3: below,
    atLeastKBqPerM3: above,
    commonURel: r?.commonURel ?? 0,
    interval95KBqPerM3: r?.interval95KBqPerM3 ?? null,
    decisionThresholdKBqPerM3: r?.decisionThresholdKBqPerM3 ?? null,
    detectionLimitKBqPerM3: r?.detectionLimitKBqPerM3 ?? null,
    fitP: r?.fitP ?? null,
    correction: r?.correction ?? null,
    notes: r?.notes ?? [],
  };
}

function readRuling(
  entry: string,
  view: ProjectView,
): { sampleIds: string[]; verdict: RulingVerdict | null } {
  const match = /^(.+)=(use|leave-out|lower-bound|none)$/.exec(entry);
  if (match === null)
    throw usage(`--ruling takes PROBE=use, leave-out, lower-bound or none, not "${entry}".`);
  const [, label = '', word] = match;
  const probe = probeOf(view, label);
  const sampleIds = view.samples.filter((s) => s.probeId === probe.id && s.kind !== 'blank').map((s) => s.id);
  if (sampleIds.length === 0) throw usage(`Probe "${label}" has no sample to rule on.`);
  return { sampleIds, verdict: word === 'none' ? null : (word as RulingVerdict) };
}

function labelOf(view: ProjectView, probeId: string): string {
  return view.probes.find((p) => p.id === probeId)?.label ?? probeId;
}

function sampleLine(view: ProjectView, a: SampleAssessment): string {
  const unit = view.settings.radonUnit;
  const value = `${formatMeasured(a.measured, unit)} ${formatExpanded(a.measured, unit)}`.trim();
  const ruling = a.ruling === null ? '' : ` [ruling: ${a.ruling.reason}]`;
  const sample = sampleOf(view, a);
  const summary = sample?.reduction;
  const counted =
    summary?.basis === 'readings' || summary?.basis === 'values'
      ? `\n      ${reductionLine(summary, unit)}`
      : '';
  const drawn = sample?.draw === undefined ? '' : `\n      ${drawLine(sample.draw)}`;
  const flags = a.flags.map((f) => `\n      ${f.weight}: ${f.message} (${f.source})`).join('');
  return `  ${labelOf(view, a.probeId).padEnd(8)}${value.padEnd(18)}${a.treatment.padEnd(13)}${a.treatmentReason}${ruling}${counted}${drawn}${flags}`;
}

function drawLine({ ground, enters, notes }: SampleDraw): string {
  const value = ground === null ? 'none' : `${groundText(ground)} m2`;
  const use = ground === null || enters ? '' : ', enters no class';
  return [`permeability from flow and suction: ${value}${use}`, ...notes].join('. ');
}

export interface FindingCounts {
  readonly samples: number;
  readonly diluted: number;
  readonly suspect: number;
  readonly water: number;
  readonly shallow: number;
  readonly leftOut: number;
  readonly rulings: number;
}

export function countFindings(view: ProjectView): FindingCounts {
  const count = (test: (a: SampleAssessment) => boolean) => view.assessments.filter(test).length;
  return {
    samples: view.samples.length,
    diluted: count((a) => a.dilution === 'diluted'),
    suspect: count((a) => a.dilution === 'suspect'),
    water: count((a) => a.water !== 'none'),
    shallow: count((a) => a.flags.some((f) => f.kind === 'shallow')),
    leftOut: count((a) => a.treatment === 'leave-out'),
    rulings: count((a) => a.ruling !== null),
  };
}

export function countLine(c: FindingCounts): string {
  return `${c.samples} samples: ${c.diluted} diluted, ${c.suspect} suspect, ${c.water} water or tight, ${c.shallow} shallow, ${c.leftOut} left out; ${c.rulings} rulings`;
}
