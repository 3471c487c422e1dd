import { useState } from 'react';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { useView } from '../state/context.ts';
import { ExportForm } from './ExportForm.tsx';
import { FigureForm } from './FigureForm.tsx';
import type { People } from './people.tsx';
import { RecordList } from './RecordList.tsx';
import { ReportForm } from './ReportForm.tsx';

export function DeliverPanel() {
  const view = useView();
  const [people, setPeople] = useState<People>({});
  return (
    <PanelScroll>
      <FigureForm people={people} onPeople={setPeople} />
      <ReportForm people={people} onPeople={setPeople} />
      <ExportForm />
      <RecordList revision={view.revision} />
    </PanelScroll>
  );
}
