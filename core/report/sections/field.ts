/** Why, where, how it was planned and with what it was measured. */

import type { DrawnGround } from '../../contract/draw-test.ts';
import type { Instrument } from '../../contract/model.ts';
import {
  areaText,
  lengthCell,
  lengthText,
  lengthUnit,
  sayInUnits,
  sayLengths,
} from '../../contract/project-words.ts';
import { formatCoordinate } from '../../figure/frame-grid.ts';
import { describeNorth, describeSystem } from '../../figure/furniture.ts';
import { drawTestWords } from '../../survey/draw-numbers.ts';
import { boundedText } from '../../survey/drawn-permeability.ts';
import { facts, heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { countOf, NOT_RECORDED, nameSome, plain, sheetNumbers, spanOf, timeText } from '../words.ts';
import { dayLogs, drawingText, weatherText } from './quality-summary.ts';

export function purpose({ purpose: stated, classResult, people, figure }: ReportInput): ReportBlock[] {
  const sheet = figure.sheet ?? {};
  const numbers = sheetNumbers(sheet);
  return [
    heading(1, 'Purpose and rule used'),
    paragraph(
      stated ??
        'To state, before a building is designed, how much radon the ground of this lot can give, by the scheme named here, for the permit office and the designer.',
    ),
    facts(
      ['Asked for by', people.client ?? NOT_RECORDED],
      ...(numbers === '' ? [] : [['Job and sheet', numbers] as const]),
      ['Rule used', `${classResult.schemeName}; ${classResult.edition}`],
      ['Sources of the rule', classResult.source],
      [
        'Method reference',
        'Grab samples of soil gas. No statement of conformity with ISO 11665-11 or another sampling standard is recorded.',
      ],
    ),
    ...(sheet.notes === undefined
      ? []
      : [heading(2, 'Notes of the preparer'), ...sheet.notes.split(/\n+/).map((text) => paragraph(text))]),
  ];
}

export function site({ view, figure }: ReportInput): ReportBlock[] {
  const { frame, lot } = view;
  const soils = [...new Set(view.probes.flatMap((p) => (p.soil === null ? [] : [p.soil])))];
  const wet = view.assessments.filter((a) => a.water !== 'none').map((a) => a.probeId);
  const wetLabels = view.probes.filter((p) => wet.includes(p.id)).map((p) => p.label);
  const corners = (lot ?? []).map(
    ([x, y]) =>
      `${formatCoordinate(frame.originNative[0] + x / frame.metresPerUnit, 2)}, ${formatCoordinate(frame.originNative[1] + y / frame.metresPerUnit, 2)}`,
  );
  return [
    heading(1, 'Site'),
    facts(
      ['Project', view.name],
      ['Address', figure.sheet?.address ?? NOT_RECORDED],
      ['Note', view.note ?? 'none'],
      ['Lot', view.lotAreaM2 === null ? 'no lot line entered' : areaText(view.lotAreaM2, frame)],
      ['Source of the lot line', figure.lotSource ?? NOT_RECORDED],
      [
        'Coordinates',
        `${describeSystem(frame).replace(/^Coordinates on the frame: /, '')} ${describeNorth(frame)}`,
      ],
      ['Vertical datum', 'none: heights are not recorded'],
      [
        'Lot corners (x, y)',
        nameSome(
          corners.map((c) => `(${c})`),
          16,
        ),
      ],
      ['Planned building', view.footprint?.label ?? 'none entered'],
      [
        'Keep-outs',
        nameSome(view.keepOuts.map((k) => sayLengths(`${k.label} (buffer ${k.bufferM} m)`, frame))),
      ],
      ['Geology: soil as written down', soils.length === 0 ? NOT_RECORDED : soils.join('; ')],
      [
        'Ground water',
        wetLabels.length === 0 ? 'no probe met water' : `water or tight ground at ${nameSome(wetLabels)}`,
      ],
    ),
    ...(view.warnings.length === 0 ? [] : [list(view.warnings)]),
  ];
}

/** Depths of the samples, blanks apart. */
export function depthSpan(view: ReportInput['view']): string {
  const depths = view.samples.flatMap((s) => {
    const depthM = s.depthM ?? view.probes.find((p) => p.id === s.probeId)?.depthM ?? null;
    return depthM === null || s.kind === 'blank' ? [] : [depthM];
  });
  return depths.length === 0 ? NOT_RECORDED : sayLengths(`${spanOf(depths)} m`, view.frame);
}

export function plan({ view, classResult }: ReportInput): ReportBlock[] {
  const of = (state: string) => view.probes.filter((p) => p.state === state).map((p) => p.label);
  const shallow = new Set(
    view.assessments.filter((a) => a.flags.some((f) => f.kind === 'shallow')).map((a) => a.probeId),
  );
  const shallowLabels = view.probes.filter((p) => shallow.has(p.id)).map((p) => p.label);
  return [
    heading(1, 'Plan and deviations'),
    facts(
      [
        'Probes',
        `${view.probes.length} in all; ${of('driven').length} driven, ${of('planned').length} only planned, ${of('refused').length} refused, ${of('abandoned').length} abandoned`,
      ],
      ['Refused or abandoned', nameSome([...of('refused'), ...of('abandoned')])],
      [
        'Depth',
        `${depthSpan(view)}; reference depth ${lengthText(view.settings.referenceDepthM, view.frame)}`,
      ],
      ['Shallower than the reference', nameSome(shallowLabels)],
      [
        'Asked for by the scheme',
        `${classResult.minimumCount} valid values; ${classResult.validCount} were got`,
      ],
    ),
  ];
}

const DETECTOR_WORDS: Record<Instrument['detector'], string> = {
  alpha: 'all alpha particles in one window',
  spectrum: 'a spectrum of collected progeny, windows Po-218, Po-214 and thoron (Po-216)',
  windows: 'energy windows as entered',
};

function instrumentFacts(i: Instrument): ReportBlock[] {
  const efficiency =
    i.countsPerAlpha === null
      ? (i.windows ?? [])
          .map(
            (w) =>
              `${w.id}: ${Object.entries(w.countsPerAlpha)
                .map(([n, c]) => `${n} ${plain(c, 4)}`)
                .join(', ')}`,
          )
          .join('; ')
      : plain(i.countsPerAlpha, 4);
  const backgrounds = i.backgrounds.map(
    (b) => `${b.window}: ${b.counts} counts in ${plain(b.liveS, 5)} s, ${timeText(b.takenUtc)}`,
  );
  return [
    heading(2, i.label),
    facts(
      ['Detector', `${i.detector}: ${DETECTOR_WORDS[i.detector]}; ${countOf(i.sampleCount, 'sample')}`],
      ['Counts for each alpha decay', efficiency === '' ? NOT_RECORDED : efficiency],
      ['Calibrated on, certificate', `${i.calibratedOn ?? NOT_RECORDED}; ${i.certificate ?? NOT_RECORDED}`],
      [
        'Common uncertainty (k = 1)',
        i.commonURel === null
          ? NOT_RECORDED
          : `${plain(100 * i.commonURel, 3)} %, the same for all its samples`,
      ],
      [
        'Chamber, line',
        `${plain(i.chamberMl, 4)} mL, ${i.lineMl === null ? NOT_RECORDED : `${plain(i.lineMl, 4)} mL`}`,
      ],
      [
        'Left of the sample before',
        i.gasLeft === null ? NOT_RECORDED : `${plain(100 * i.gasLeft, 3)} % of its gas`,
      ],
      ['Clock less UTC', `${plain(i.clockOffsetS, 4)} s`],
      ['Background', nameSome(backgrounds, 8)],
      ['Missing', nameSome(i.missing, 8)],
      ['Note', i.note ?? 'none'],
    ),
  ];
}

export function equipment(input: ReportInput): ReportBlock[] {
  const { instruments, view, figure } = input;
  const values = view.assessments.flatMap((a) => (a.measured.kind === 'value' ? [a.measured] : []));
  const common = Math.max(0, ...values.map((m) => m.commonURel));
  const counted = view.samples.filter((s) => s.reduction?.basis === 'readings');
  return [
    heading(1, 'Equipment and calibration'),
    ...(instruments.length === 0
      ? [
          paragraph(
            'No instrument is on record: kind of detector, sampler, calibration factor, certificate, its date, background and clock are not recorded.',
          ),
        ]
      : instruments.flatMap(instrumentFacts)),
    facts(
      [
        'Common (calibration) uncertainty in the values',
        common === 0
          ? 'none entered: it is missing from every uncertainty in this report'
          : `up to ${plain(100 * common, 3)} % (k = 1), the same for all samples of an instrument: it does not average out`,
      ],
      ['Volumes pumped', volumesText(view.samples)],
      ['Sampler', NOT_RECORDED],
      ['Purge, leak checks, flow', drawingText(input)],
      [
        'Duration of sampling and count',
        counted.length === 0
          ? NOT_RECORDED
          : `counting intervals are on record for ${countOf(counted.length, 'sample')}; duration of sampling ${NOT_RECORDED}`,
      ],
      ['Decision threshold, detection limit', sayInUnits(detectionText(input), figure)],
      ['Weather (rain, pressure, frost)', weatherText(input)],
    ),
  ];
}

function volumesText(samples: ReportInput['view']['samples']): string {
  const pumped = samples.flatMap((s) => (s.pumpedMl === undefined ? [] : [s.pumpedMl]));
  if (pumped.length === 0) return NOT_RECORDED;
  return `${spanOf(pumped, 4)} mL at ${countOf(pumped.length, 'sample')}`;
}

function spanText(values: readonly number[]): string {
  return `${spanOf(values)} kBq/m³`;
}

function detectionText({ view }: ReportInput): string {
  const { samples } = view;
  const pick = (key: 'decisionThresholdKBqPerM3' | 'detectionLimitKBqPerM3') =>
    samples.flatMap((s) => s.reduction?.[key] ?? []);
  const [thresholds, limits] = [pick('decisionThresholdKBqPerM3'), pick('detectionLimitKBqPerM3')];
  if (thresholds.length > 0 && limits.length > 0)
    return `by ISO 11929 for ${countOf(limits.length, 'counted sample')}: threshold ${spanText(thresholds)}, limit ${spanText(limits)}; error probabilities alpha = beta = 5 %`;
  const below = samples.flatMap((s) => (s.radonBelowKBqPerM3 === null ? [] : [s.radonBelowKBqPerM3]));
  if (below.length === 0)
    return 'not recorded; no sample was reported as not detected. Error probabilities (alpha, beta): not recorded';
  return `${countOf(below.length, 'sample')} reported as not detected, below ${spanText(below)} as the file states; error probabilities (alpha, beta): not recorded`;
}

export function fieldLog(input: ReportInput): ReportBlock[] {
  const { view } = input;
  const samples = new Map(view.probes.map((p) => [p.id, view.samples.filter((s) => s.probeId === p.id)]));
  return [
    heading(1, 'Field log'),
    {
      kind: 'table',
      columns: [
        { head: 'Probe', share: 1.1, strong: true },
        { head: 'State', share: 1 },
        { head: 'Drawn (UTC)', share: 2 },
        { head: `Depth, ${lengthUnit(view.frame)}`, share: 1, align: 'end' },
        { head: 'Soil', share: 2 },
        { head: 'Permeability', share: 1.5 },
        { head: 'Remarks', share: 3 },
      ],
      rows: view.probes.map((p) => {
        const own = samples.get(p.id) ?? [];
        const permeability = [
          p.permeabilityClass,
          p.permeabilityM2 === null ? null : `${p.permeabilityM2.toExponential(2)} m²`,
          ...own.flatMap((s) => (s.draw?.ground == null ? [] : [drawText(s.draw.ground, s.draw.enters)])),
          p.fineFractionPct === null ? null : `fines ${plain(p.fineFractionPct, 3)} %`,
        ].filter((t) => t !== null);
        const remarks = [
          p.note,
          ...own.flatMap((s) => [
            s.remark,
            s.saidWater ? 'water seen' : null,
            s.saidFreshAir ? 'fresh air suspected' : null,
            s.saidTight === true ? 'tight ground' : null,
            s.leakTestPassed === false ? 'leak test failed' : null,
            s.saidDryerSpent === true ? 'dryer spent' : null,
          ]),
        ].filter((t) => t !== null && t !== '');
        return [
          p.label,
          p.state,
          own.length === 0
            ? 'not sampled'
            : own.map((s) => timeText(s.takenUtc).replace(' UTC', '')).join('; '),
          lengthCell(p.depthM, view.frame),
          p.soil ?? '–',
          permeability.length === 0 ? '–' : permeability.join(', '),
          [...new Set(remarks)].join('; '),
        ];
      }),
    },
    ...drawTestLine(input),
    ...dayLogs(input),
  ];
}

function drawText(ground: DrawnGround, enters: boolean): string {
  const u = ground.kind === 'value' ? `, u ${((100 * ground.uM2) / ground.permeabilityM2).toFixed(0)} %` : '';
  return `${boundedText(ground)} m² (draw${u}${enters ? '' : ', enters no class'})`;
}

function drawTestLine({ view }: ReportInput): ReportBlock[] {
  const { drawTest } = view.settings;
  if (drawTest === undefined) return [];
  return [
    paragraph(
      `Permeability marked 'draw' follows from flow and suction, k = mu Q / (F dP), u with k = 1: ${drawTestWords(drawTest)}. Standard values are assumptions of this program unless confirmed on site.`,
    ),
  ];
}
