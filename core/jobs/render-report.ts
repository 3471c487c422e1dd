/** A report laid out and written: seconds of work, which the thread that answers messages must not stand still for. */
import type { PageName } from '../figure/figure-model.ts';
import type { ReportFormat } from '../report/render-report.ts';
import type { ReportInput } from '../report/report-model.ts';
import type { SingleJob } from './job.ts';
import { throwIfStopped } from './job.ts';

export interface RenderReportInput {
  readonly report: ReportInput;
  readonly format: ReportFormat;
  readonly page: PageName;
}

export const renderReportJob: SingleJob<RenderReportInput, { readonly bytes: Uint8Array }> = {
  form: 'single',
  async run({ report, format, page }, context) {
    context.progress(0, 'setting the report');
    // Type and pictures are asked for only here: other work starts without them.
    const { renderReport } = await import('../report/render-report.ts');
    throwIfStopped(context);
    return { bytes: await renderReport(report, format, page) };
  },
};
