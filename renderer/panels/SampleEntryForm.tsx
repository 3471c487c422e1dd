import { useEffect, useRef, useState } from 'react';
import type { SampleEntry } from '../../core/contract/hand-entry.ts';
import type { SampleKind } from '../../core/contract/model.ts';
import { radonUnitLabel } from '../format.ts';
import { coordinateUnit, usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { useInstruments } from '../state/use-instruments.ts';
import { type EntryField, type EntryTexts, entryOf, nextTexts, textsOf } from './entry-texts.ts';
import { IntervalTable } from './IntervalTable.tsx';
import { LeakTestField } from './LeakTestField.tsx';

const KIND_NAMES: Record<SampleKind, string> = {
  grab: 'Grab sample',
  duplicate: 'Duplicate',
  repeat: 'Repeat',
  blank: 'Blank',
};

interface SampleEntryFormProps {
  /** Null for a new one. */
  readonly sampleId: string | null;
  readonly entry: SampleEntry | null;
  readonly onDone: () => void;
}

/** A sample and its readings typed in without a file. */
export function SampleEntryForm({ sampleId, entry: start, onDone }: SampleEntryFormProps) {
  const app = useApp();
  const view = useView();
  const instruments = useInstruments();
  const units = { radon: view.settings.radonUnit, feet: usesFeet(view.frame) };
  const [texts, setTexts] = useState(() => textsOf(start, units, view.settings.referenceDepthM));
  const [tried, setTried] = useState(false);
  const [entered, setEntered] = useState<string | null>(null);
  const label = useRef<HTMLInputElement>(null);
  const known = view.probes.find((p) => p.label.toLowerCase() === texts.label.trim().toLowerCase());
  const isNew = known === undefined && texts.label.trim() !== '';
  const { entry, bad } = entryOf(texts, units, isNew);
  const instrument = instruments?.find((i) => i.id === texts.instrumentId);
  const radonUnit = radonUnitLabel(units.radon);
  const unitLabel = coordinateUnit(view.frame);

  // biome-ignore lint/correctness/useExhaustiveDependencies: a sample just entered makes room for the next one
  useEffect(() => label.current?.select(), [entered]);

  const set = (patch: Partial<EntryTexts>) => setTexts({ ...texts, ...patch });
  const enter = async (next: SampleEntry) => {
    const done = await app.enterSample({ sampleId, entry: next });
    if (!done) return;
    const now = app.store.get().view;
    if (sampleId !== null || now === null) {
      onDone();
      return;
    }
    const { depth } = textsOf(null, units, view.settings.referenceDepthM).fields;
    setTexts(nextTexts(texts, depth, now));
    setTried(false);
    setEntered(`${next.probeLabel} ${now.revision}`);
  };
  // The day goes on from the sample before; its time is still to be typed.
  const isDayOnly = (name: EntryField) =>
    name === 'taken' && /^\d{4}-\d{2}-\d{2} ?$/.test(texts.fields.taken);
  const field = (name: EntryField, label: string, more: { readonly placeholder?: string } = {}) => (
    <label className={name === 'taken' ? 'field' : 'field number-field'}>
      {label}
      <input
        type="text"
        {...(name === 'taken' ? {} : { inputMode: 'decimal' as const })}
        value={texts.fields[name]}
        aria-invalid={bad.has(name) && (tried || !(texts.fields[name] === '' || isDayOnly(name)))}
        onChange={(event) => set({ fields: { ...texts.fields, [name]: event.target.value } })}
        {...more}
      />
    </label>
  );
  return (
    <form
      className="stack inset-form"
      aria-label={sampleId === null ? 'Type in a sample' : 'Change the sample'}
      onSubmit={(event) => {
        event.preventDefault();
        setTried(true);
        if (entry !== null) void enter(entry);
      }}
      onKeyDown={(event) => {
        if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) event.currentTarget.requestSubmit();
      }}
    >
      <div className="row">
        <label className="field">
          Probe
          <input
            ref={label}
            type="text"
            list="known-probes"
            maxLength={60}
            value={texts.label}
            aria-invalid={tried && bad.has('label')}
            onChange={(event) => set({ label: event.target.value })}
          />
        </label>
        <datalist id="known-probes">
          {view.probes.map((p) => (
            <option key={p.id} value={p.label} />
          ))}
        </datalist>
        <label className="field">
          Kind
          <select value={texts.kind} onChange={(event) => set({ kind: event.target.value as SampleKind })}>
            {(Object.keys(KIND_NAMES) as SampleKind[]).map((kind) => (
              <option key={kind} value={kind}>
                {KIND_NAMES[kind]}
              </option>
            ))}
          </select>
        </label>
        {field('taken', 'Taken, UTC', { placeholder: '2026-05-12 09:30' })}
        {field('depth', `Depth, ${units.feet ? 'ft' : 'm'}`)}
      </div>
      {isNew ? (
        <div className="row">
          <p className="hint wide">
            {texts.label.trim()} is not in the project yet: say where it was driven.
          </p>
          {field('x', `x (east), ${unitLabel}`)}
          {field('y', `y (north), ${unitLabel}`)}
          <label className="field grow">
            Soil
            <input type="text" value={texts.soil} onChange={(event) => set({ soil: event.target.value })} />
          </label>
          <label className="field">
            Permeability
            <select
              value={texts.permeabilityClass}
              onChange={(event) =>
                set({ permeabilityClass: event.target.value as EntryTexts['permeabilityClass'] })
              }
            >
              <option value="">not described</option>
              <option value="low">low</option>
              <option value="medium">medium</option>
              <option value="high">high</option>
            </select>
          </label>
        </div>
      ) : null}
      <div className="row">
        {field('radon', `Radon, ${radonUnit}`)}
        {field('uncertainty', `Uncertainty, ${radonUnit}`)}
        <label className="field">
          stated at
          <select value={texts.k} onChange={(event) => set({ k: event.target.value as '1' | '2' })}>
            <option value="2">k = 2</option>
            <option value="1">k = 1</option>
          </select>
        </label>
        {field('below', `or not detected below, ${radonUnit}`)}
        {field('above', `or over the range, at least, ${radonUnit}`)}
      </div>
      <div className="row">
        {field('oxygen', 'Oxygen, %')}
        {field('carbonDioxide', 'Carbon dioxide, %')}
        {field('suction', 'Suction, Pa')}
      </div>
      <div className="row">
        <label className="check-line">
          <input
            type="checkbox"
            checked={texts.saidFreshAir}
            onChange={(event) => set({ saidFreshAir: event.target.checked })}
          />
          Fresh air was drawn
        </label>
        <label className="check-line">
          <input
            type="checkbox"
            checked={texts.saidWater}
            onChange={(event) => set({ saidWater: event.target.checked })}
          />
          Water was seen
        </label>
        <label className="check-line">
          <input
            type="checkbox"
            checked={texts.saidTight}
            onChange={(event) => set({ saidTight: event.target.checked })}
          />
          No flow: tight
        </label>
        <label className="check-line">
          <input
            type="checkbox"
            checked={texts.saidRefused}
            onChange={(event) => set({ saidRefused: event.target.checked })}
          />
          Refused: not driven
        </label>
      </div>
      {texts.saidRefused ? (
        <p className="hint">No value is entered; the depth is where the probe stopped.</p>
      ) : null}
      <div className="row">
        <LeakTestField value={texts.leakTest} onChange={(leakTest) => set({ leakTest })} />
        <label className="field grow">
          Remark
          <input
            type="text"
            maxLength={2000}
            value={texts.remark}
            onChange={(event) => set({ remark: event.target.value })}
          />
        </label>
      </div>
      {instruments && instruments.length > 0 ? (
        <div className="row">
          <label className="field">
            Instrument
            <select
              value={texts.instrumentId}
              onChange={(event) => set({ instrumentId: event.target.value })}
            >
              <option value="">not named</option>
              {instruments.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.label}
                </option>
              ))}
            </select>
          </label>
        </div>
      ) : null}
      <IntervalTable
        sampleId={sampleId}
        texts={texts}
        units={units}
        instrument={instrument}
        bad={bad}
        tried={tried}
        onChange={set}
      />
      <div className="form-end">
        <p className="hint" aria-live="polite">
          {tried && bad.size > 0
            ? bad.has('taken')
              ? 'Taken needs day and time, such as 2026-05-12 09:30, or stays empty.'
              : 'Some fields are empty or hold no number: they are marked.'
            : entered !== null
              ? `${entered.slice(0, entered.lastIndexOf(' '))} is entered. Ctrl + Enter enters from any field.`
              : 'Goes to the record as entered by hand; what is not known stays empty. Ctrl + Enter enters from any field.'}
        </p>
        <button type="button" className="quiet" onClick={onDone}>
          {sampleId === null && entered !== null ? 'Close' : 'Cancel'}
        </button>
        <button type="submit" className="primary">
          {sampleId === null ? 'Enter sample' : 'Change sample'}
        </button>
      </div>
    </form>
  );
}
