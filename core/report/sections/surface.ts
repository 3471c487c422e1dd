/** The map, how its surface was made, and how far it can be trusted. */

import { sayInUnits } from '../../contract/project-words.ts';
import type { Block } from '../../figure/blocks.ts';
import type { PageName } from '../../figure/figure-model.ts';
import { insetBlock } from '../../figure/inset.ts';
import { composeMapPanel } from '../../figure/map-panel.ts';
import { crossValidationBlock, histogramBlock, variogramBlock } from '../../figure/plots.ts';
import { describeSurface } from '../../figure/words.ts';
import { heading, list, paragraph, type ReportBlock } from '../document.ts';
import type { ReportInput } from '../report-model.ts';
import { countOf, groupReasons } from '../words.ts';

const INSET_CAPTION = 'From the model of the surface: the measured probes alone make the class.';
const CROSS_VALIDATION_CAPTION =
  'Each value left out in turn and foretold by the others: the nearer the dashed line, the better.';
const PLOT_SHARE = 0.48;

function drawingOf(name: string, caption: string, make: (widthMm: number) => Block | null): ReportBlock[] {
  // Whether there is anything to draw does not depend on the width.
  if (make(80) === null) return [];
  return [
    {
      kind: 'drawing',
      name,
      caption,
      heightShare: 1,
      widthShare: PLOT_SHARE,
      draw: (widthMm) => {
        const block = make(widthMm);
        return { nodes: block?.nodes ?? [], heightMm: block?.heightMm ?? 0 };
      },
    },
  ];
}

export function mapSection({ figure }: ReportInput, page: PageName): ReportBlock[] {
  const weak = figure.weakGround ?? null;
  return [
    heading(1, 'Map'),
    {
      kind: 'drawing',
      name: 'map',
      caption: `Radon in the soil gas over the lot, at a true scale when printed at 100 %. ${
        figure.surface === null
          ? (figure.noSurfaceReason ?? 'There is no surface.')
          : 'Flagged probes are told apart by shape and colour; class limits are the heavier lines.'
      }${weak === null ? '' : ' What is drawn faded and why, the legend says: an own rule of this program.'}`,
      heightShare: 0.9,
      draw: (widthMm, heightMm) => composeMapPanel(figure, widthMm, heightMm, page),
    },
  ];
}

export function surfaceSection({ figure, surface, view }: ReportInput): ReportBlock[] {
  const title = heading(1, 'Surface');
  if (surface === null)
    return [title, paragraph(`There is no surface: ${figure.noSurfaceReason ?? 'none was computed.'}`)];
  const labels = new Map(
    view.samples.map((s) => [s.id, view.probes.find((p) => p.id === s.probeId)?.label ?? '']),
  );
  const { grid } = surface;
  const said = describeSurface(surface).join(' ');
  return [
    title,
    paragraph(
      `The surface shows where the gas lies; the class never comes from it. It is made of ${countOf(surface.usedSampleIds.length, 'valid sample')}${
        surface.boundedSampleIds.length === 0
          ? ''
          : `, and held up by ${surface.boundedSampleIds.length} more, of which only a lower bound is known`
      }. What has no value is left out.`,
    ),
    list(
      [
        ...describeSurface(surface),
        `Grid of ${grid.columns} × ${grid.rows} cells of ${grid.cellM.toPrecision(3)} m, cut to the lot.`,
        surface.method === 'kriging'
          ? "Kriging with each value's own random variance; the common calibration uncertainty is not on the diagonal. Handbook: Webster and Oliver 2001."
          : 'Inverse distance weighting: weights 1/d^p; never leaves the range of the data.',
        ...(surface.variogram?.reasons ?? []).filter((r) => !said.includes(r)),
      ].map((text) => sayInUnits(text, figure)),
    ),
    ...drawingOf('variogram', variogramCaption(surface.crossValidation.n), (w) => variogramBlock(figure, w)),
    ...drawingOf('cross-validation', CROSS_VALIDATION_CAPTION, (w) => crossValidationBlock(figure, w)),
    ...(figure.insets ?? []).flatMap((inset, i) =>
      drawingOf(`inset-${i + 1}`, INSET_CAPTION, (w) => insetBlock(figure, inset, w)),
    ),
    ...drawingOf('histogram', 'Values of the probes with the class limits.', (w) =>
      histogramBlock(figure, w),
    ),
    heading(2, 'Not in the surface'),
    surface.notUsed.length === 0
      ? paragraph('Every value is in it.')
      : list(
          groupReasons(
            surface.notUsed.map((n) => ({
              label: labels.get(n.sampleId) ?? n.sampleId,
              reason: sayInUnits(n.reason, figure),
            })),
          ),
        ),
  ];
}

function variogramCaption(n: number): string {
  const pairs = (n * (n - 1)) / 2;
  return `${n} values make ${pairs} pairs in all; handbooks ask for 100 to 150 points for a variogram (Webster and Oliver 2001), and for more than 30 to 50 pairs a bin.`;
}
