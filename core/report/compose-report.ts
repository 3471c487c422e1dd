import type { PageName } from '../figure/figure-model.ts';
import { heading, list, paragraph, type ReportBlock, type ReportDocument } from './document.ts';
import { isSamePerson } from './issue-state.ts';
import type { ReportInput } from './report-model.ts';
import { dataAppendix, recordAppendix } from './sections/appendix.ts';
import { equipment, fieldLog, plan, purpose, site } from './sections/field.ts';
import { footprintClass } from './sections/footprint.ts';
import { classSection, doubts, limits } from './sections/outcome.ts';
import { placements } from './sections/placements.ts';
import { summary } from './sections/summary.ts';
import { mapSection, surfaceSection } from './sections/surface.ts';
import { quality, reduction, results } from './sections/values.ts';

export const REPORT_TITLE = 'Radon in the ground: report on a building lot';

/** The whole report, in the order a permit office reads it. The same input gives the same document. */
export function composeReport(input: ReportInput, page: PageName = 'A4'): ReportDocument {
  const { figure, people } = input;
  return {
    title: REPORT_TITLE,
    projectName: figure.projectName,
    isDemo: figure.isDemo,
    footer: [
      people.preparedBy === null ? 'Preparer not named' : `Prepared by ${people.preparedBy}`,
      `${figure.createdUtc.slice(0, 10)}`,
      ...(figure.sheet?.revision === undefined ? [] : [`Sheet revision ${figure.sheet.revision}`]),
      `Project revision ${figure.revision}, record ${figure.recordHash?.slice(0, 16) ?? 'none'}`,
      figure.program,
    ].join(' · '),
    summary: summary(input),
    body: [
      ...mapSection(input, page),
      { kind: 'page-break', orientation: 'portrait' },
      ...purpose(input),
      ...site(input),
      ...plan(input),
      ...equipment(input),
      ...fieldLog(input),
      ...reduction(input),
      ...results(input),
      ...quality(input),
      ...classSection(input),
      ...doubts(input),
      ...footprintClass(input),
      ...surfaceSection(input),
      ...placements(input),
      ...limits(input),
      ...issueSection(input),
      ...dataAppendix(input),
      ...recordAppendix(input),
    ],
  };
}

function issueSection({ issue, people }: ReportInput): ReportBlock[] {
  const since =
    issue === null || issue.previous === null
      ? []
      : [
          paragraph(
            `Changes since issue ${issue.previous.number} of ${issue.previous.issuedUtc.slice(0, 10)} (SHA-256 ${issue.previous.sha256}):`,
          ),
          issue.differences.length === 0 ? paragraph('None.') : list(issue.differences),
        ];
  return [
    heading(1, 'Issue and signatures'),
    paragraph(
      issue === null
        ? 'A draft: this state has not been issued.'
        : `${issue.number === null ? 'This state' : `Issue ${issue.number}`}: everything this report says, frozen, has the SHA-256 ${issue.sha256}.`,
    ),
    ...since,
    ...(people.preparedBy !== null && isSamePerson(people.preparedBy, people.reviewedBy ?? '')
      ? [
          paragraph(
            'Preparer and reviewer are the same person: this is no review by a second one.',
            'warning',
          ),
        ]
      : []),
    {
      kind: 'signatures',
      lines: [
        [
          `Prepared by, licence ${people.licenceNumber ?? 'not stated'}${people.organisation === undefined ? '' : `, ${people.organisation}`}`,
          people.preparedBy ?? '',
        ],
        ['Reviewed by', people.reviewedBy ?? ''],
      ],
    },
  ];
}
