/** Words for the way from counts to a value, for `gasplat reduce`. */
import type { Probe, ProjectView, SampleReductionSummary } from '../contract/model.ts';
import type { SampleReduction } from '../contract/results.ts';
import { formatExpanded, formatMeasured } from '../figure/words.ts';
import { explainReduction } from '../project/sample-reduction.ts';
import type { ReadableStore } from '../store/open-project.ts';
import { fromKBqPerM3 } from '../units.ts';
import type { CommandOutput } from './command.ts';
import { usage } from './flags.ts';

type Unit = ProjectView['settings']['radonUnit'];

const number = (value: number) => Number(value.toPrecision(4)).toString();

export function reductionLine(r: SampleReductionSummary, unit: Unit): string {
  const radon = (value: number) => number(fromKBqPerM3(value, unit));
  const interval =
    r.interval95KBqPerM3 === null ? '' : `, 95 % ${r.interval95KBqPerM3.map(radon).join(' to ')}`;
  const limits = [
    ['y*', r.decisionThresholdKBqPerM3],
    ['y#', r.detectionLimitKBqPerM3],
  ] as const;
  const shown = limits.flatMap(([name, v]) => (v === null ? [] : [`, ${name} ${radon(v)}`])).join('');
  const fit = r.fitP === null ? '' : `, fit p ${r.fitP.toPrecision(2)}`;
  const corrected = r.correction === null ? '' : `, corrected (${r.correction})`;
  return `from ${r.readingCount} readings with ${r.instrument ?? 'no instrument'}${interval}${shown} ${unit}${fit}, calibration ${number(100 * r.commonURel)} %${corrected}`;
}

/** @throws AppError BAD_USAGE for a probe that is not there */
export function probeOf(view: ProjectView, label: string): Probe {
  const probe = view.probes.find((p) => p.label.toLowerCase() === label.toLowerCase());
  if (probe === undefined) throw usage(`There is no probe "${label}" in ${view.name}.`);
  return probe;
}

/** Every sample of a probe, in full. @throws AppError BAD_USAGE for a probe that is not there */
export function explainSamples(store: ReadableStore, view: ProjectView, label: string): CommandOutput {
  const probe = probeOf(view, label);
  const details = view.samples
    .filter((s) => s.probeId === probe.id)
    .map((s) => ({ kind: s.kind, takenUtc: s.takenUtc, ...explainReduction(store, s.id) }));
  const unit = view.settings.radonUnit;
  const blocks = details.map((d) => [
    `${d.probe}, ${d.kind}${d.takenUtc === null ? '' : `, ${d.takenUtc}`}`,
    ...linesOf(d, unit),
  ]);
  return {
    json: { path: view.path, probe: probe.label, samples: details },
    text:
      blocks.length === 0 ? `${probe.label} has no sample.` : blocks.map((b) => b.join('\n')).join('\n\n'),
  };
}

function linesOf(d: SampleReduction, unit: Unit): string[] {
  const radon = (value: number) => number(fromKBqPerM3(value, unit));
  const { summary, chamber, fit, thoron } = d;
  const measured = `${formatMeasured(d.measured, unit)} ${formatExpanded(d.measured, unit)}`.trim();
  return [
    `  ${measured} ${unit} (${summary.basis})`,
    ...(chamber === null
      ? []
      : [
          `  in the chamber: ${radon(chamber.estimateKBqPerM3)}, u ${radon(chamber.randomUKBqPerM3)} (${chamber.uBasis}); best estimate ${radon(chamber.best.estimate)}, ${radon(chamber.best.low)} to ${radon(chamber.best.high)}`,
          `  ${reductionLine(summary, unit)}`,
        ]),
    ...(fit === null
      ? []
      : [
          `  fit: Pearson ${number(fit.pearson)}, deviance ${number(fit.deviance)}, ${fit.dof} degrees of freedom; least expected ${number(fit.leastExpected)}`,
        ]),
    ...(thoron === null
      ? []
      : [
          `  thoron ${radon(thoron.estimateKBqPerM3)}, u ${radon(thoron.uKBqPerM3)}; correlation with radon ${thoron.correlation.toFixed(2)}`,
        ]),
    ...d.carriedFrom.map(
      (c) =>
        `  left by ${c.probe} (${radon(c.radonKBqPerM3)}): ${number(c.counts)} counts, ${number(100 * c.gasLeft)} % of its gas`,
    ),
    ...d.backgrounds.map(
      (b) =>
        `  background ${b.window}: ${number(b.counts)} counts in ${number(b.liveS)} s${b.takenUtc === null ? '' : `, ${b.takenUtc}`}`,
    ),
    ...d.intervals.map((i) => {
      const model =
        i.expected === null
          ? ''
          : `, expected ${number(i.expected)}, residual ${(i.residual ?? 0).toFixed(2)}`;
      const source = i.source === null ? '' : ` (${i.source.file}, row ${i.source.row})`;
      return `  ${i.window} ${number(i.startS)} to ${number(i.endS)} s: ${i.counts} counts${model}${source}`;
    }),
    ...d.values.map((v) => {
      const u = v.uKBqPerM3 === null ? '' : `, u ${radon(v.uKBqPerM3)}`;
      const source = v.source === null ? '' : ` (${v.source.file}, row ${v.source.row})`;
      const use = v.used ? '' : ', left out';
      return `  ${number(v.startS)} to ${number(v.endS)} s: ${radon(v.radonKBqPerM3)}${u}${use}${source}`;
    }),
    ...(d.entered === null ? [] : [`  entered beside it and not used: ${radon(d.entered.radonKBqPerM3)}`]),
    ...summary.notes.map((n) => `  ${n}`),
  ];
}
