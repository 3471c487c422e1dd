/** Variogram, cross-validation and histogram as blocks of a column. */
import { formatNumber, lengthUnit, unitText } from '../contract/project-words.ts';
import { toModel } from '../geostat/model-parameters.ts';
import { practicalRangeM, semivarianceAt, type VariogramModel } from '../geostat/models.ts';
import { fromKBqPerM3, fromMetres } from '../units.ts';
import { type Block, BlockBuilder } from './blocks.ts';
import type { FigureInput } from './figure-model.ts';
import { niceStep } from './map-view.ts';
import { disc, drawPlotFrame, plotText } from './plot-axes.ts';
import type { SceneNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { INK, SMALL_PT, SOFT_INK } from './style.ts';
import { formatLevel } from './words.ts';

/** Width of a plot over its height. */
const SHAPE = 1.62;
const LEAST_PLOT_MM = 18;
const CURVE_STEPS = 120;
const POINT_MM = 0.75;
/** Bins of fewer pairs are drawn open; a handbook of geostatistics asks for more than 30 (Gebbers). */
const LEAST_PAIRS = 30;

/** The plot's own rectangle: as high as its width asks for, and so much more or less. */
function plotRect(block: BlockBuilder, moreMm: number) {
  const { widthMm, yMm } = block;
  return { xMm: 0, yMm, widthMm, heightMm: Math.max(LEAST_PLOT_MM, widthMm / SHAPE + moreMm) };
}

function capped(maximum: number): number {
  const top = maximum > 0 ? maximum * 1.08 : 1;
  const step = niceStep(top / 5);
  return Math.ceil(top / step - 1e-9) * step;
}

/** Bins, the model used and, where it differs, the fit to the bins; null where there is no variogram. */
export function variogramBlock(input: FigureInput, widthMm: number, moreMm = 0): Block | null {
  const variogram = input.surface?.variogram ?? null;
  if (variogram === null || variogram.bins.length === 0) return null;
  const block = new BlockBuilder(widthMm).heading('VARIOGRAM');
  const model = toModel(variogram.model);
  const bins = variogram.bins.filter((b) => Number.isFinite(b.semivariance) && b.pairs > 0);
  const furthest = Math.max(...bins.map((b) => b.lagM), 1);
  const toM = Math.max(furthest * 1.06, Math.min(practicalRangeM(model), 1.5 * furthest));
  const top = Math.max(...bins.map((b) => b.semivariance), semivarianceAt(model, toM, 0));
  const unit = variogram.transform === 'log' ? 'of ln radon' : '(kBq/m³)²';
  const length = lengthUnit(input.frame);
  const rect = plotRect(block, moreMm);
  const frame = drawPlotFrame(
    rect,
    { from: 0, to: fromMetres(toM, length), title: `Distance between probes, ${length}` },
    { from: 0, to: capped(top), title: `Semivariance ${unit}` },
  );
  const curve = (m: VariogramModel) =>
    Array.from({ length: CURVE_STEPS + 1 }, (_, i) => {
      const lag = Math.max(1e-6, (toM * i) / CURVE_STEPS);
      return frame.at(fromMetres(lag, length), Math.min(capped(top), semivarianceAt(m, lag, 0)));
    });
  block.draw(...frame.nodes);
  if (variogram.fitted !== null) {
    block.draw({
      kind: 'path',
      segments: polylineSegments(curve(toModel(variogram.fitted))),
      stroke: { colour: SOFT_INK, widthMm: 0.18, dashMm: [1.2, 0.8] },
    });
  }
  block.draw({
    kind: 'path',
    segments: polylineSegments(curve(model)),
    stroke: { colour: INK, widthMm: 0.35 },
  });
  for (const bin of bins) {
    const at = frame.at(fromMetres(bin.lagM, length), bin.semivariance);
    block.draw(disc(at, POINT_MM, INK));
    if (bin.pairs < LEAST_PAIRS) block.draw(disc(at, POINT_MM * 0.6, '#ffffff'));
    block.draw(plotText(String(bin.pairs), at[0], at[1] - 1.3));
  }
  block.gap(rect.heightMm);
  const dashed = variogram.fitted === null ? '' : ' Dashed: fitted to the bins alone.';
  return block
    .paragraph(
      `Line: the model used. Points: means of pairs, with their number; open under ${LEAST_PAIRS} pairs.${dashed}`,
      { sizePt: SMALL_PT },
    )
    .build('variogram', false);
}

/** Each probe as the others foretell it; null where there are no points. */
export function crossValidationBlock(input: FigureInput, widthMm: number, moreMm = 0): Block | null {
  const result = input.surface?.crossValidation;
  const points = (result?.points ?? []).filter(
    (p) => Number.isFinite(p.observed) && Number.isFinite(p.predicted),
  );
  if (result === null || result === undefined || points.length === 0) return null;
  const block = new BlockBuilder(widthMm).heading('EACH PROBE AS THE OTHERS FORETELL IT');
  const unit = unitText(input.radonUnit);
  const scaled = points.map((p) => ({
    ...p,
    observed: fromKBqPerM3(p.observed, input.radonUnit),
    predicted: fromKBqPerM3(p.predicted, input.radonUnit),
  }));
  const top = capped(Math.max(...scaled.flatMap((p) => [p.observed, p.predicted])));
  const bottom = Math.min(0, ...scaled.flatMap((p) => [p.observed, p.predicted]));
  const rect = plotRect(block, moreMm);
  const frame = drawPlotFrame(
    rect,
    { from: bottom, to: top, title: `Foretold without the probe, ${unit}` },
    { from: bottom, to: top, title: `Measured, ${unit}` },
  );
  block.draw(...frame.nodes, {
    kind: 'path',
    segments: polylineSegments([frame.at(bottom, bottom), frame.at(top, top)]),
    stroke: { colour: SOFT_INK, widthMm: 0.2, dashMm: [1.2, 0.8] },
  });
  for (const p of scaled) {
    const at = frame.at(p.predicted, p.observed);
    block.draw(disc(at, POINT_MM, INK));
    // Further off than two of the surface's own errors.
    if (p.z !== null && Math.abs(p.z) > 2) block.draw(disc(at, POINT_MM * 0.6, '#ffffff'));
  }
  block.gap(rect.heightMm);
  const open =
    result.msdr === null ? '' : ' Open: further off than twice the error the surface gives itself.';
  return block
    .paragraph(`n = ${result.n}. On the dashed line both agree.${open} ${result.verdict}`, {
      sizePt: SMALL_PT,
      role: 'verdict',
    })
    .build('cross-validation', false);
}

/** How many probes have which value, class limits and the statistic marked; null under two values. */
export function histogramBlock(input: FigureInput, widthMm: number, moreMm = 0): Block | null {
  const counted = input.probes.filter((p) => p.symbol === 'valid' || p.symbol === 'suspect');
  const values = counted.flatMap((p) =>
    p.measured?.kind === 'value' ? [fromKBqPerM3(p.measured.estimateKBqPerM3, input.radonUnit)] : [],
  );
  if (values.length < 2) return null;
  const block = new BlockBuilder(widthMm).heading('VALUES OF THE PROBES');
  const limits = input.limits.map((l) => ({ ...l, at: fromKBqPerM3(l.valueKBqPerM3, input.radonUnit) }));
  const most = Math.max(...values, 0);
  const low = Math.min(...values, 0);
  const step = niceStep((most - low) / Math.min(12, Math.max(5, Math.sqrt(values.length) * 2)) || 1);
  const first = Math.floor(low / step);
  const bars = Math.max(1, Math.floor(most / step) - first + 1);
  const counts = Array.from({ length: bars }, () => 0);
  for (const value of values) {
    const i = Math.floor(value / step) - first;
    counts[i] = (counts[i] ?? 0) + 1;
  }
  const to = (first + bars) * step;
  const top = Math.max(...counts) + 1;
  const rect = plotRect(block, moreMm);
  const frame = drawPlotFrame(
    rect,
    { from: first * step, to, title: `Radon, ${unitText(input.radonUnit)}` },
    { from: 0, to: top, title: 'Probes' },
  );
  block.draw(...frame.nodes);
  counts.forEach((count, i) => {
    if (count === 0) return;
    const [x0, y0] = frame.at((first + i) * step, count);
    const [x1, y1] = frame.at((first + i + 1) * step, 0);
    block.draw({
      kind: 'path',
      segments: rectSegments({ xMm: x0, yMm: y0, widthMm: x1 - x0, heightMm: y1 - y0 }),
      fill: '#b9c4cc',
      stroke: { colour: INK, widthMm: 0.12 },
    });
  });
  const names: SceneNode[] = [];
  const mark = (x: number, text: string, dashMm: readonly number[], rank: number): void => {
    const [px, py] = frame.at(x, 0);
    block.draw({
      kind: 'path',
      segments: polylineSegments([
        [px, frame.area.yMm],
        [px, py],
      ]),
      stroke: { colour: INK, widthMm: 0.3, dashMm },
    });
    const right = px > frame.area.xMm + frame.area.widthMm / 2;
    names.push(
      plotText(text, px + (right ? -0.8 : 0.8), frame.area.yMm + 2 + 2.4 * rank, {
        anchor: right ? 'end' : 'start',
        colour: INK,
        face: 'italic',
        halo: { colour: '#ffffff', widthMm: 0.3 },
      }),
    );
  };
  limits
    .filter((l) => l.at < to && l.at > first * step)
    .forEach((l, i) => {
      mark(l.at, `${l.name} from ${formatLevel(l.valueKBqPerM3, input.radonUnit)}`, [1.6, 0.8], i);
    });
  const statistic = input.classResult?.statisticKBqPerM3 ?? null;
  if (statistic !== null) {
    const at = fromKBqPerM3(statistic, input.radonUnit);
    if (at < to) {
      const name = input.classResult?.statisticName ?? 'statistic';
      mark(at, `${name} ${formatNumber(at)}`, [0.4, 0.6], limits.length);
    }
  }
  // Names last, so that no line runs through one.
  block.draw(...names).gap(rect.heightMm);
  const unmarked = limits
    .filter((l) => l.at >= to)
    .map((l) => `${l.name} from ${formatLevel(l.valueKBqPerM3, input.radonUnit)}`);
  const beyond = unmarked.length === 0 ? '' : ` Beyond the plot: ${unmarked.join(', ')}.`;
  return block
    .paragraph(
      `${values.length} values; bars ${formatNumber(step)} wide; bounds and probes without a value that counts are left out.${beyond}`,
      {
        sizePt: SMALL_PT,
      },
    )
    .build('histogram', false);
}
