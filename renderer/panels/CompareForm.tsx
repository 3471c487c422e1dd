import { useEffect, useMemo, useState } from 'react';
import type { CompareSummary, CompareWith } from '../../core/contract/comparing.ts';
import type { ProjectView } from '../../core/contract/model.ts';
import type { Output } from '../../core/contract/requests.ts';
import { prettyUnits } from '../format.ts';
import { useApp, useView } from '../state/context.ts';
import { useSave } from './use-save.ts';

const FORMATS = [
  ['pdf', 'PDF', 'pdf'],
  ['svg', 'SVG', 'svg'],
  ['png', 'PNG', 'png'],
  ['geotiff', 'GeoTIFF', 'tif'],
] as const;

interface Shown {
  readonly svgUrl: string;
  readonly pageCount: number;
  readonly pageIndex: number;
  readonly summary: CompareSummary;
}

/** Days before and from which two surveys part: the longest pause between days of sampling. */
function longestPause(view: ProjectView): { before: string; after: string } {
  const days = [...new Set(view.samples.flatMap((s) => s.takenUtc?.slice(0, 10) ?? []))].sort();
  let found = { pause: 0, before: '', after: '' };
  for (const [i, after] of days.entries()) {
    const before = days[i - 1];
    if (before === undefined) continue;
    const pause = Date.parse(after) - Date.parse(before);
    if (pause > found.pause) found = { pause, before, after };
  }
  return found;
}

/** The change between this project and another one of the same ground, or between two spans of its days. */
export function CompareForm() {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const [path, setPath] = useState<string | null>(null);
  const [kind, setKind] = useState<CompareWith['kind']>('project');
  const pause = useMemo(() => longestPause(view), [view]);
  const [lastEarlier, setLastEarlier] = useState<string | null>(null);
  const [firstLater, setFirstLater] = useState<string | null>(null);
  const [shown, setShown] = useState<Shown | null>(null);
  useEffect(
    () => () => {
      if (shown) URL.revokeObjectURL(shown.svgUrl);
    },
    [shown],
  );
  // biome-ignore lint/correctness/useExhaustiveDependencies: what was compared is no longer what there is
  useEffect(() => setShown(null), [view.revision]);

  const to = lastEarlier ?? pause.before;
  const from = firstLater ?? pause.after;
  const withWhat = (): CompareWith | null => {
    if (kind === 'project') return path === null ? null : { kind, path };
    return to === '' || from === '' ? null : { kind, earlier: { to }, later: { from } };
  };
  const asked = withWhat();

  const choose = async () => {
    const chosen = await app.attempt('Choosing a project', () =>
      app.bridge.chooseOpen({
        title: 'Compare with another project',
        filters: [{ name: 'Gasplat project', extensions: ['gasplat'] }],
      }),
    );
    if (!chosen) return;
    setPath(chosen);
    setShown(null);
  };
  const compare = async (pageIndex: number) => {
    if (asked === null) return;
    const doing = 'Comparing';
    const found = await app.attempt(doing, () =>
      app.asJob(
        doing,
        (job): Promise<Output<'compare.preview'>> =>
          app.client.newest('compare', 'compare.preview', { with: asked, options: {}, pageIndex }, job),
      ),
    );
    if (!found) return;
    const svgUrl = URL.createObjectURL(new Blob([found.svg], { type: 'image/svg+xml' }));
    setShown({ svgUrl, pageIndex, pageCount: found.pageCount, summary: found.summary });
  };

  return (
    <section className="block" aria-labelledby="deliver-compare">
      <h3 id="deliver-compare">Compare with another project or date</h3>
      <p>
        The later survey minus the earlier one, with the error of both. Season and weather alone change soil
        gas several-fold; a class never comes from a difference.
      </p>
      <div className="row">
        <label className="field">
          Compare with
          <select
            value={kind}
            onChange={(event) => {
              setKind(event.target.value as CompareWith['kind']);
              setShown(null);
            }}
          >
            <option value="project">another project of the same ground</option>
            <option value="dates">another date of this project</option>
          </select>
        </label>
        {kind === 'project' ? (
          <button type="button" onClick={() => void choose()}>
            Choose project…
          </button>
        ) : (
          <>
            <label className="field">
              Earlier survey up to
              <input
                type="date"
                value={to}
                onChange={(event) => {
                  setLastEarlier(event.target.value);
                  setShown(null);
                }}
              />
            </label>
            <label className="field">
              Later survey from
              <input
                type="date"
                value={from}
                onChange={(event) => {
                  setFirstLater(event.target.value);
                  setShown(null);
                }}
              />
            </label>
          </>
        )}
        <button type="button" className="primary" disabled={asked === null} onClick={() => void compare(0)}>
          Compare
        </button>
      </div>
      {kind === 'project' && path !== null ? (
        <p className="hint">
          With <span className="path">{path}</span>, which is only read.
        </p>
      ) : null}
      {kind === 'dates' && pause.after === '' ? (
        <p className="hint">All samples are of one day: there is no other date to compare with.</p>
      ) : null}
      {shown ? (
        <>
          <Finding summary={shown.summary} />
          <div className="preview-frame">
            <img
              src={shown.svgUrl}
              alt={`Change from ${shown.summary.earlier} to ${shown.summary.later}, page ${shown.pageIndex + 1} of ${shown.pageCount}`}
            />
          </div>
          {shown.pageCount > 1 ? (
            <div className="pager">
              <button
                type="button"
                aria-label="Page before of the comparison"
                disabled={shown.pageIndex === 0}
                onClick={() => void compare(shown.pageIndex - 1)}
              >
                Page before
              </button>
              <p>
                Page {shown.pageIndex + 1} of {shown.pageCount}
              </p>
              <button
                type="button"
                aria-label="Next page of the comparison"
                disabled={shown.pageIndex + 1 >= shown.pageCount}
                onClick={() => void compare(shown.pageIndex + 1)}
              >
                Next page
              </button>
            </div>
          ) : null}
          <div className="row">
            {FORMATS.map(([format, name, extension]) => (
              <button
                key={format}
                type="button"
                onClick={() =>
                  asked === null
                    ? undefined
                    : void save({
                        doing: 'Saving the comparison',
                        title: `Save the comparison as ${name}`,
                        name,
                        extension,
                        suffix: '-change',
                        isFiled: false,
                        write: (target, job) =>
                          app.client.request(
                            'compare.save',
                            { path: target, format, with: asked, options: {} },
                            job,
                          ),
                      })
                }
              >
                Save change as {name}…
              </button>
            ))}
          </div>
        </>
      ) : null}
    </section>
  );
}

function Finding({ summary }: { summary: CompareSummary }) {
  return (
    <div aria-live="polite">
      <p>
        <strong>{summary.statement}</strong> ({summary.later} minus {summary.earlier})
      </p>
      <ul className="reasons" aria-label="What changed">
        {[...summary.lines, ...summary.method].map((line) => (
          <li key={line}>{prettyUnits(line)}</li>
        ))}
      </ul>
    </div>
  );
}
