import { useAnswer } from '../state/use-answer.ts';
import { useWords } from '../state/use-words.ts';

/** What has to be there before the crew drives home. */
export function LeaveChecklist() {
  const words = useWords();
  const leave = useAnswer('field.leave', 'Going through the checklist');
  if (leave === null) return null;
  return (
    <section className="block" aria-labelledby="field-leave">
      <h3 id="field-leave">Before you leave</h3>
      <p>
        {leave.words}
        {leave.day === null
          ? ''
          : ` Backgrounds, control probe, dryer and weather are those of ${leave.day}.`}
      </p>
      <ul className="check-list" aria-label="Before you leave the site">
        {leave.items.map((item) => (
          <li key={item.id}>
            <span className={`tag ${item.isDone ? 'tag-ruled' : 'tag-suspect'}`}>
              {item.isDone ? 'done' : 'missing'}
            </span>
            <div>
              <strong>{item.what}</strong>
              {item.words === 'all' ? null : <p className="hint">{words(item.words)}</p>}
            </div>
          </li>
        ))}
      </ul>
    </section>
  );
}
