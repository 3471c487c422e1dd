import type { PageName } from '../figure/figure-model.ts';
import { renderPdf } from '../figure/render-pdf.ts';
import type { SceneMetadata } from '../figure/scene.ts';
import { composeReport } from './compose-report.ts';
import { layOutReport } from './lay-out.ts';
import { renderReportDocx } from './render-docx.ts';
import { renderReportHtml } from './render-html.ts';
import type { ReportInput } from './report-model.ts';

export type ReportFormat = 'pdf' | 'html' | 'docx';

function metadataOf(input: ReportInput, title: string): SceneMetadata {
  const { figure, people, issue } = input;
  const state = issue === null ? 'Draft' : `Issue ${issue.number ?? 'without number'}, state ${issue.sha256}`;
  return {
    title: `${title}: ${figure.projectName}`,
    author: people.preparedBy,
    subject: `${state}; revision ${figure.revision}, record ${figure.recordHash ?? 'none'}${figure.isDemo ? '; invented data' : ''}`,
    creator: figure.program,
    createdUtc: figure.createdUtc,
  };
}

/**
 * File bytes of the report; the same input gives the same bytes.
 * @param page - paper of the PDF
 * @throws AppError BAD_INPUT where the date is none
 */
export async function renderReport(
  input: ReportInput,
  format: ReportFormat,
  page: PageName = 'A4',
): Promise<Uint8Array> {
  const document = composeReport(input, page);
  const metadata = metadataOf(input, document.title);
  if (format === 'html') return new TextEncoder().encode(renderReportHtml(document, metadata));
  if (format === 'docx') return renderReportDocx(document, metadata);
  const { scenes, outline } = layOutReport(document, page);
  return renderPdf(scenes, metadata, { outline });
}
