import { PanelScroll } from '../components/PanelScroll.tsx';
import { CompareForm } from './CompareForm.tsx';
import { ExportForm } from './ExportForm.tsx';
import { FigureForm } from './FigureForm.tsx';
import { PeopleForm } from './PeopleForm.tsx';
import { RecordList } from './RecordList.tsx';
import { ReportForm } from './ReportForm.tsx';

export function DeliverPanel() {
  return (
    <PanelScroll>
      <FigureForm />
      <PeopleForm />
      <ReportForm />
      <CompareForm />
      <ExportForm />
      <RecordList />
    </PanelScroll>
  );
}
