import { PanelScroll } from '../components/PanelScroll.tsx';
import { useView } from '../state/context.ts';
import { CompareForm } from './CompareForm.tsx';
import { ExportForm } from './ExportForm.tsx';
import { FigureForm } from './FigureForm.tsx';
import { PeopleForm } from './PeopleForm.tsx';
import { RecordList } from './RecordList.tsx';
import { ReportForm } from './ReportForm.tsx';

export function DeliverPanel() {
  const view = useView();
  return (
    <PanelScroll>
      <FigureForm />
      <PeopleForm />
      <ReportForm />
      <CompareForm />
      <ExportForm />
      <RecordList revision={view.revision} />
    </PanelScroll>
  );
}
