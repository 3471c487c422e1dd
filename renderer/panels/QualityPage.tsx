import type { QualityItem, QualityVerdict } from '../../core/contract/quality.ts';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { prettyUnits } from '../format.ts';
import { useAnswer } from '../state/use-answer.ts';

const VERDICT_TAGS: Record<QualityVerdict, string> = {
  fit: 'tag-ruled',
  look: 'tag-suspect',
  unfit: 'tag-strong',
  'not recorded': '',
};
const VERDICT_NAMES: Record<QualityVerdict, string> = {
  fit: 'fit for use',
  look: 'to look at',
  unfit: 'not fit',
  'not recorded': 'not recorded',
};

/** Worst first: who is in a hurry reads the top. */
const WORST_FIRST: readonly QualityVerdict[] = ['unfit', 'look', 'not recorded', 'fit'];

export function worstFirst(items: readonly QualityItem[]): QualityItem[] {
  return WORST_FIRST.flatMap((verdict) => items.filter((item) => item.verdict === verdict));
}

function QualityRow({ item }: { item: QualityItem }) {
  return (
    <li className={`quality quality-${item.verdict.replace(' ', '-')}`}>
      <h4>
        {item.what}
        <span className={`tag ${VERDICT_TAGS[item.verdict]}`}>{VERDICT_NAMES[item.verdict]}</span>
      </h4>
      <p>
        <strong>{prettyUnits(item.value)}</strong>. {prettyUnits(item.words)}
      </p>
      <p className="source">
        Limit: {prettyUnits(item.limit)}.{' '}
        {item.mark === 'confirmed' ? (
          <span className="tag tag-ruled">confirmed</span>
        ) : (
          <span className="tag tag-suspect">unconfirmed: {item.mark}</span>
        )}{' '}
        {prettyUnits(item.source)}.
      </p>
    </li>
  );
}

/** How good the campaign is, a subject at a time: what is fit for use, what is not, and what nobody wrote down. */
export function QualityPage() {
  const summary = useAnswer('quality.get', 'Summing up the quality');
  if (summary === null) return <p aria-busy="true">Summing up the quality …</p>;
  return (
    <PanelScroll>
      <section className="block" aria-labelledby="quality-title">
        <h3 id="quality-title">Quality of the samples</h3>
        <p>{summary.words}</p>
        <ul className="quality-list" aria-label="Quality of the samples">
          {worstFirst(summary.items).map((item) => (
            <QualityRow key={item.id} item={item} />
          ))}
        </ul>
      </section>
    </PanelScroll>
  );
}
