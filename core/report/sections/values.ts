/** From reading to value, every value with what was found and ruled, and the quality of the whole. */

import type { Measured, Sample, SampleAssessment } from '../../contract/model.ts';
import { formatNumber, lengthCell, lengthUnit, sayInUnits, unitText } from '../../contract/project-words.ts';
import { formatMeasured, joinSentences } from '../../figure/words.ts';
import { fromKBqPerM3 } from '../../units.ts';
import { facts, heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import {
  flagText,
  nameSome,
  otherUnit,
  plain,
  radonText,
  rulingText,
  sampleText,
  sourceWords,
  standardU,
  TREATMENT_WORDS,
  type Unit,
  valueCells,
  withoutLabel,
} from '../words.ts';
import { qualityTable } from './quality-summary.ts';

export function reduction(input: ReportInput): ReportBlock[] {
  return [
    heading(1, 'From reading to value'),
    list([
      'Units: 1 pCi/L = 37 Bq/m³ exactly (1 Ci = 3.7 × 10^10 Bq). Values are kept in kBq/m³; every other unit is converted when read.',
      'Standard uncertainty of a value: u² = u(random)² + (u(common, relative) × value)²; printed as expanded uncertainty U = k u with k = 2 (JCGM 100:2008, 5.1.2 and 6.3).',
      'A value of a diluted sample bounds the truth from below: value − 1.645 u, the one-sided 95 % bound of a normal error.',
      'Several valid samples at the depth nearest the reference count once, by their plain mean; its u is the larger of the propagated one and the standard error of their spread.',
      "Flags remove nothing. What a sample counts for follows from its flags and, where there is one, from a person's ruling.",
    ]),
    ...workedPoint(input),
    ...countedSamples(input),
  ];
}

const CORRECTION_WORDS = {
  'plug-flow': 'dead volume, plug flow',
  'well-mixed': 'dead volume, well mixed',
  middle: 'dead volume, between plug flow and well mixed',
  tracer: 'tracer',
} as const;

/** Samples reduced from counts, or corrected for other air: on what each value rests. */
function countedSamples({ view, figure }: ReportInput): ReportBlock[] {
  const labels = new Map(view.probes.map((p) => [p.id, p.label]));
  const unit = figure.radonUnit;
  const rows = view.samples.flatMap((s) => {
    const r = s.reduction;
    if (r === undefined || (r.basis !== 'readings' && r.basis !== 'values' && r.correction === null))
      return [];
    return [
      [
        labels.get(s.probeId) ?? s.probeId,
        r.instrument ?? '–',
        String(r.readingCount),
        r.interval95KBqPerM3 === null
          ? '–'
          : r.interval95KBqPerM3.map((v) => radonText(v, unit)).join(' to '),
        radonText(r.decisionThresholdKBqPerM3, unit),
        radonText(r.detectionLimitKBqPerM3, unit),
        plain(r.fitP, 2),
        r.correction === null ? 'none' : CORRECTION_WORDS[r.correction],
        r.notes.join('; '),
      ],
    ];
  });
  if (rows.length === 0) return [];
  return [
    heading(2, 'Samples reduced from counts or interval values, or corrected'),
    paragraph(
      'Radon by Poisson maximum likelihood over the counting intervals, with ingrowth of the progeny, background and what was left of the sample before; threshold and limit after ISO 11929. Where the instrument gave values: their mean by live time, intervals before the end of ingrowth left out.',
    ),
    {
      kind: 'table',
      columns: [
        { head: 'Probe', share: 1, strong: true },
        { head: 'Instrument', share: 1.2 },
        { head: 'Readings', share: 0.8, align: 'end' },
        { head: `95 %, ${unitText(unit)}`, share: 1.4 },
        { head: 'Decision threshold', share: 0.9, align: 'end' },
        { head: 'Detection limit', share: 0.9, align: 'end' },
        { head: 'p of the fit', share: 0.7, align: 'end' },
        { head: 'Corrected for', share: 1.4 },
        { head: 'Notes', share: 2.4 },
      ],
      rows,
    },
  ];
}

function workedPoint({ view, figure }: ReportInput): ReportBlock[] {
  const labels = new Map(view.probes.map((p) => [p.id, p.label]));
  const found = view.assessments.find((a) => a.treatment === 'use' && a.measured.kind === 'value');
  const sample = view.samples.find((s) => s.id === found?.sampleId);
  if (found === undefined || sample === undefined || found.measured.kind !== 'value') return [];
  const { estimateKBqPerM3: value, randomUKBqPerM3: random, commonURel } = found.measured;
  const u = standardU(found.measured) ?? 0;
  const unit = figure.radonUnit;
  const own = (valueKBqPerM3: number, digits: number) =>
    formatNumber(fromKBqPerM3(valueKBqPerM3, unit), digits);
  const name = unitText(unit);
  const where =
    sample.source === null ? 'entered by hand' : `read from ${sample.source.file}, line ${sample.source.row}`;
  return [
    heading(2, 'One point worked through'),
    paragraph(
      `${labels.get(sample.probeId) ?? sample.probeId}, ${sampleText(sample)}, ${where}. Value ${own(value, 4)} ${name} = ${formatNumber(fromKBqPerM3(value, otherUnit(unit)), 4)} ${unitText(otherUnit(unit))}. ` +
        `u(random) ${own(random, 3)} ${name}, u(common) ${plain(100 * commonURel, 3)} % of the value = ${own(commonURel * value, 3)} ${name}; ` +
        `u = √(${own(random, 3)}² + ${own(commonURel * value, 3)}²) = ${own(u, 3)} ${name}; U = 2 u = ${own(2 * u, 2)} ${name}. Treatment: ${TREATMENT_WORDS[found.treatment]}, ${found.treatmentReason}.`,
    ),
  ];
}

/** Where the rules of the findings come from, each once, in the order of the table of values. */
function ruleSources({ view }: ReportInput): string[] {
  return [...new Set(view.assessments.flatMap((a) => a.flags.map((f) => f.source)))];
}

export function results(input: ReportInput): ReportBlock[] {
  const { view, classResult, figure } = input;
  const sources = ruleSources(input);
  const unit = figure.radonUnit;
  const said = (text: string) => sayInUnits(text, figure);
  const samples = new Map(view.samples.map((s) => [s.id, s]));
  const probes = new Map(view.probes.map((p) => [p.id, p]));
  const excluded = new Map(classResult.excluded.map((e) => [e.sampleId, e.reason]));
  return [
    { kind: 'page-break', orientation: 'landscape' },
    heading(1, 'Values, findings and rulings'),
    paragraph(
      'Every sample. U is the expanded uncertainty, k = 2. The number after a finding is that of its rule in the list under "Quality".',
      'note',
    ),
    {
      kind: 'table',
      columns: [
        { head: 'Probe', share: 1, strong: true },
        { head: 'Sample', share: 2.2 },
        { head: `Depth, ${lengthUnit(view.frame)}`, share: 0.95, align: 'end' },
        { head: `Radon, ${unitText(unit)}`, share: 1.1, align: 'end', strong: true },
        { head: 'U (k = 2)', share: 0.9, align: 'end' },
        { head: unitText(otherUnit(unit)), share: 1, align: 'end' },
        { head: 'Treatment', share: 2.1 },
        { head: 'Findings with evidence; ruling', share: 6.6 },
      ],
      rows: view.assessments.flatMap((a) => {
        const sample = samples.get(a.sampleId);
        const probe = probes.get(a.probeId);
        if (sample === undefined || probe === undefined) return [];
        const [value, expanded, other] =
          sample.kind === 'blank' ? blankCells(sample, unit) : valueCells(a.measured, unit);
        const notCounted = a.treatment === 'use' ? excluded.get(a.sampleId) : undefined;
        const count =
          notCounted === undefined
            ? ''
            : ` Not counted in the class: ${said(withoutLabel(notCounted, probe.label))}.`;
        const findings = [
          ...a.flags.map((f) => said(flagText(f, sources.indexOf(f.source) + 1))),
          rulingText(a),
        ].filter((t) => t !== '');
        const without =
          a.ruling === null
            ? ''
            : ` Without the ruling: ${TREATMENT_WORDS[a.unruledTreatment]}, ${measuredText(a.unruledMeasured, unit)}.`;
        return [
          [
            probe.label,
            sampleText(sample).replace(' UTC', ''),
            lengthCell(sample.depthM ?? probe.depthM, view.frame),
            value,
            expanded,
            other,
            `${treatmentText(a)}${count}`,
            findings.length === 0 ? 'none' : `${findings.join('. ')}.${without}`,
          ],
        ];
      }),
    },
  ];
}

function measuredText(measured: Measured, unit: Unit): string {
  const text = formatMeasured(measured, unit);
  return measured.kind === 'none' ? text : `${text} ${unitText(unit)}`;
}

/** A sample that plainly counts is 'used' and no more. */
function treatmentText({ treatment, treatmentReason, flags, ruling }: SampleAssessment): string {
  const words = TREATMENT_WORDS[treatment];
  if (treatmentReason.startsWith(words)) return `${treatmentReason}.`;
  return treatment === 'use' && ruling === null && flags.every((f) => f.weight === 'note')
    ? `${words}.`
    : `${words}: ${treatmentReason}.`;
}

/** A blank gives no soil gas, yet its reading is what it was drawn for. */
function blankCells(sample: Sample, unit: Unit): readonly [value: string, expanded: string, other: string] {
  const { radonKBqPerM3: value, radonUKBqPerM3: u, radonBelowKBqPerM3: below } = sample;
  const other = otherUnit(unit);
  if (below !== null) return [`< ${radonText(below, unit)}`, '', `< ${radonText(below, other)}`];
  if (value === null) return ['no reading', '', ''];
  return [
    radonText(value, unit),
    u === null ? '' : `± ${formatNumber(fromKBqPerM3(2 * u, unit), 2)}`,
    radonText(value, other),
  ];
}

function blankText(sample: Sample, unit: Unit): string {
  const [value, expanded] = blankCells(sample, unit);
  if (expanded === '') return value === 'no reading' ? value : `${value} ${unitText(unit)}`;
  return `${value} ${unitText(unit)} ${expanded} (k = 2)`;
}

interface Pair {
  readonly label: string;
  readonly first: number;
  readonly second: number;
  readonly rpdPct: number;
}

/** Two values of the same probe: RPD = 100 |a - b| / ((a + b) / 2) (common practice). */
function pairs({ view }: ReportInput): Pair[] {
  const measured = new Map(view.assessments.map((a) => [a.sampleId, a.measured]));
  const estimateOf = (s: Sample): number | null => {
    const m: Measured | undefined = measured.get(s.id);
    return m?.kind === 'value' ? m.estimateKBqPerM3 : null;
  };
  return view.probes.flatMap((probe) => {
    const own = view.samples.filter((s) => s.probeId === probe.id);
    const grab = own.find((s) => s.kind === 'grab');
    const first = grab === undefined ? null : estimateOf(grab);
    if (first === null) return [];
    return own.flatMap((s) => {
      const second = s.kind === 'duplicate' || s.kind === 'repeat' ? estimateOf(s) : null;
      if (second === null || first + second === 0) return [];
      return [
        {
          label: probe.label,
          first,
          second,
          rpdPct: (100 * Math.abs(first - second)) / ((first + second) / 2),
        },
      ];
    });
  });
}

export function quality(input: ReportInput): ReportBlock[] {
  const { view, figure } = input;
  const sources = ruleSources(input);
  const limit = view.settings.thresholds.duplicateRpdPct;
  const found = pairs(input);
  const blanks = view.samples.filter((s) => s.kind === 'blank');
  const qualityFlags = view.assessments.flatMap((a) => a.flags.filter((f) => f.kind === 'quality'));
  return [
    { kind: 'page-break', orientation: 'portrait' },
    heading(1, 'Quality'),
    paragraph(figure.quality ?? 'No duplicates, blanks or calibration are on record.'),
    ...qualityTable(input),
    facts(
      ['Blanks', blanks.length === 0 ? 'none' : blanks.map((s) => blankText(s, figure.radonUnit)).join('; ')],
      [
        'Quality findings',
        qualityFlags.length === 0
          ? 'none'
          : sayInUnits(joinSentences(qualityFlags.map((f) => f.message)), figure),
      ],
      ['Carry-over between samples', 'order and rest between samples are not recorded here'],
    ),
    ...(found.length === 0
      ? []
      : [
          heading(2, 'Duplicates and repeats'),
          {
            kind: 'table',
            columns: [
              { head: 'Probe', share: 1, strong: true },
              { head: `First, ${unitText(figure.radonUnit)}`, share: 1, align: 'end' },
              { head: `Second, ${unitText(figure.radonUnit)}`, share: 1, align: 'end' },
              { head: 'Difference, % of mean', share: 1, align: 'end' },
              { head: `Against ${limit} %`, share: 2 },
            ],
            rows: found.map((p) => [
              p.label,
              radonText(p.first, figure.radonUnit),
              radonText(p.second, figure.radonUnit),
              formatNumber(p.rpdPct, 2),
              p.rpdPct > limit ? 'over the limit' : 'within the limit',
            ]),
          } satisfies ReportBlock,
        ]),
    paragraph(`Probes with more than one valid sample: ${nameSome(found.map((p) => p.label))}.`, 'note'),
    ...(sources.length === 0
      ? []
      : [
          heading(2, 'Where the rules of the findings come from'),
          list(sources.map((source, i) => `(${i + 1}) ${sourceWords(source)}`)),
        ]),
  ];
}
