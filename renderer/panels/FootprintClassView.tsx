import { capitalise, formatRadon, radonUnitLabel } from '../format.ts';
import { keptBasis } from '../state/basis.ts';
import { useAppState, useView } from '../state/context.ts';
import { useWords } from '../state/use-words.ts';

/** The scheme's word on the footprint as it stands, or why there is none. */
export function FootprintClassView() {
  const words = useWords();
  const view = useView();
  const found = useAppState((state) => state.siting.footprintClass);
  if (found?.basis !== keptBasis(view)) return null;
  const { label, support, result, lotClass } = found.result;
  const unit = view.settings.radonUnit;
  return (
    <>
      {result === null ? (
        <div className="outcome outcome-refused">
          <p className="outcome-label">{label}</p>
          <p className="outcome-name">No class for this place</p>
          <p>{words(support.message)}</p>
        </div>
      ) : (
        <div className={result.classId === null ? 'outcome outcome-refused' : 'outcome'}>
          <p className="outcome-label">
            {label}: {result.schemeName}, {result.edition}
          </p>
          <p className="outcome-name">
            {capitalise(result.className ?? result.range?.join(' or ') ?? 'No class')}
          </p>
          <p>{words(result.refusal ?? result.decidedBy)}</p>
          <p>{words(support.message)}</p>
        </div>
      )}
      {result ? (
        <ul className="reasons" aria-label="The place counted otherwise">
          {result.alternatives
            .filter((one) => one.isWithoutRulings || one.isWithoutAdded)
            .map((one) => (
              <li key={one.what}>
                {words(one.what)}: {one.className ?? 'no class'}
                {one.statisticKBqPerM3 === null
                  ? ''
                  : `, ${formatRadon(one.statisticKBqPerM3, unit)} ${radonUnitLabel(unit)}`}
              </li>
            ))}
        </ul>
      ) : null}
      <p>The lot as a whole: {lotClass}.</p>
      {support.surroundingsUnconfirmed ? (
        <p className="hint">
          {words(
            `Unconfirmed: surroundings of ${support.surroundingsM} m are common practice; the sources seen give no figure.`,
          )}
        </p>
      ) : null}
    </>
  );
}
