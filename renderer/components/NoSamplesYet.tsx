import { useApp } from '../state/context.ts';
import { PanelScroll } from './PanelScroll.tsx';

/** A step that cannot begin: what is missing, and the way there. */
export function NoSamplesYet({ what }: { readonly what: string }) {
  const app = useApp();
  return (
    <PanelScroll>
      <section className="block">
        <p className="lead">No {what} without samples.</p>
        <button type="button" className="primary" onClick={() => app.go('field')}>
          Go to Field
        </button>
      </section>
    </PanelScroll>
  );
}
