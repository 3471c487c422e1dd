/** A stand-in for shell and engine, in memory. Development and tests only: never part of the built window. */
import type { EngineEvent, ReplyEnvelope, RequestEnvelope } from '../../core/contract/envelope.ts';
import type { PositionM, ProjectView } from '../../core/contract/model.ts';
import type { ImportPreview, Input, Output, RequestName } from '../../core/contract/requests.ts';
import type { ShellBridge } from '../../core/contract/shell.ts';
import type { ClassSupportView } from '../../core/contract/siting.ts';
import { AppError, toWire } from '../../core/errors.ts';
import { ringAreaM2 } from '../map/geometry.ts';
import { toProject } from '../map/project-frame.ts';
import { mockCatalogue, mockSchemes } from './mock-catalogue.ts';
import { emptyMockView, mockView } from './mock-project.ts';
import { mockClass, mockSurface } from './mock-results.ts';

export interface MockOptions {
  /** Opened by the start-up, as with a project named on the command line. */
  readonly open?: boolean;
  readonly slowMs?: number;
  /** Probes in each of the four rows. */
  readonly columns?: number;
  /** Requests that fail, to look at messages. */
  readonly failing?: readonly RequestName[];
}

const mockSupport: ClassSupportView = {
  enough: false,
  inside: 2,
  around: 4,
  needed: 15,
  surroundingsM: 5,
  surroundingsUnconfirmed: true,
  missing: ['9 more valid points'],
  message: '2 valid points lie in the footprint and 4 within 5 m of it: no class for this place.',
};

type Handler<N extends RequestName> = (
  input: Input<N>,
  request: { readonly id: number; readonly wait: (ms: number, stage: string) => Promise<void> },
) => Output<N> | Promise<Output<N>>;

export function createMockBridge(options: MockOptions = {}): ShellBridge {
  let view: ProjectView | null = null;
  let revision = 0;
  const undone: ProjectView[] = [];
  const history: ProjectView[] = [];
  const listeners = new Set<(event: EngineEvent) => void>();
  const cancelled = new Set<number>();
  const emit = (event: EngineEvent) => {
    for (const listener of listeners) listener(event);
  };

  const open = (): ProjectView => {
    if (!view) throw new AppError('BAD_USAGE', 'No project is open.');
    return view;
  };
  const become = (next: ProjectView, what: string | null): ProjectView => {
    if (what !== null && view) history.push(view);
    revision = what === null ? next.revision : revision + 1;
    const { lot, assessments, settings } = next;
    const basis = JSON.stringify([lot, assessments, settings]);
    view = {
      ...next,
      revision,
      basis: { surface: basis, class: basis },
      canUndo: what ?? next.canUndo,
    };
    emit({ kind: 'changed', revision });
    return view;
  };

  const preview = (input: Input<'import.preview'>): ImportPreview => ({
    file: input.path,
    delimiter: input.options.delimiter ?? ';',
    decimal: input.options.decimal ?? ',',
    columns: ['Sonda', 'Y', 'X', 'Hloubka m', 'Rn kBq/m3', 'U', 'O2 %', 'poznámka'],
    mapping: input.options.mapping ?? {
      label: { column: 'Sonda' },
      x: { column: 'Y' },
      y: { column: 'X' },
      depth: { column: 'Hloubka m', unit: 'm' },
      radon: { column: 'Rn kBq/m3', unit: 'kBq/m3' },
      oxygen: { column: 'O2 %', unit: '%' },
    },
    head: [
      ['P01', '512305,50', '5540204,92', '0,80', '17,4', '1,2', '18,1', ''],
      ['P02', '512313,90', '5540204,10', '0,80', '21,0', '1,3', '18,4', ''],
      ['P03', '512322,30', '5540203,33', '0,80', '8,9', '0,9', '20,4', 'ssaje vzduch'],
      ['P04', '512330,70', '5540204,55', '0.8O', '33,1', '1,9', '17,7', ''],
    ],
    rowCount: 20,
    goodRows: 18,
    issues: [
      { severity: 'error', file: input.path, row: 5, field: 'depth', message: '“0.8O” is not a number.' },
      { severity: 'error', file: input.path, row: 12, field: 'x', message: 'The coordinate is missing.' },
      {
        severity: 'warning',
        file: input.path,
        row: 4,
        field: 'radon',
        message: 'No uncertainty: 10 % is assumed.',
      },
    ],
  });

  /** What the mock plays; any other request says that it is not played. */
  const handlers: { [N in RequestName]?: Handler<N> } = {
    'project.create': ({ path, name, crs }) => become(emptyMockView(path, name, crs), null),
    'project.demo': async ({ path }, { wait }) => {
      await wait(200, 'writing');
      return become(mockView(path), null);
    },
    'project.open': ({ path }) => become(mockView(path, undefined, options.columns), null),
    'project.close': () => {
      view = null;
      return null;
    },
    'project.view': open,
    'project.describe': (change) =>
      become(
        { ...open(), name: change.name ?? open().name, note: change.note ?? open().note },
        'Description',
      ),
    'lot.set': ({ ring }) => {
      const first = ring[0];
      if (!first) throw new AppError('BAD_INPUT', 'The lot line has no corners.', { field: 'ring' });
      const now = open();
      const frame = now.lot
        ? now.frame
        : { ...now.frame, originNative: [Math.round(first[0]), Math.round(first[1])] as const };
      const lot: PositionM[] = ring.map((point) => toProject(frame, point));
      return become({ ...now, frame, lot, lotAreaM2: ringAreaM2(lot) }, 'Lot line');
    },
    'lot.import': () => {
      throw new AppError('BAD_INPUT', 'Row 3 holds one number where two are needed.', {
        file: 'corners.csv',
        row: 3,
        field: 'y',
      });
    },
    'catalogue.get': mockCatalogue,
    'day.list': () => ({ days: [], unlogged: [] }),
    'field.leave': () => ({ day: null, isComplete: true, words: 'Mock checklist.', items: [] }),
    'quality.get': () => ({ words: 'Mock summary.', items: [] }),
    'scheme.list': mockSchemes,
    'thresholds.preview': () => ({ changes: [], class: null, noClass: 'The mock has no class.' }),
    'keepout.set': ({ id, points, ...rest }) => {
      const now = open();
      const keepOut = {
        ...rest,
        id: id ?? `k${revision + 1}`,
        points: points.map((point) => toProject(now.frame, point)),
      };
      const others = now.keepOuts.filter((one) => one.id !== keepOut.id);
      return become({ ...now, keepOuts: [...others, keepOut] }, 'Keep-out');
    },
    'walk.start': ({ native }) => {
      const { walkStart: _before, ...now } = open();
      const start = native === null ? {} : { walkStart: { native, positionM: toProject(now.frame, native) } };
      return become({ ...now, ...start }, 'Start of walks');
    },
    'keepout.remove': ({ id }) => {
      const now = open();
      return become({ ...now, keepOuts: now.keepOuts.filter((one) => one.id !== id) }, 'Keep-out removed');
    },
    'footprint.set': ({ label, ring }) => {
      const now = open();
      const drawnRing = (ring ?? []).map((point) => toProject(now.frame, point));
      const footprint = ring ? { id: 'f2', label, ring: drawnRing, drawnRing, placements: [] } : null;
      return become({ ...now, footprint }, 'Footprint');
    },
    'import.preview': preview,
    'import.commit': async ({ path }, { wait }) => {
      await wait(150, 'reading rows');
      const full = mockView(path);
      const now = open();
      const next = become({ ...full, path: now.path, name: now.name, settings: now.settings }, 'Import');
      return {
        view: next,
        report: {
          file: path,
          probesAdded: 20,
          probesMet: 0,
          probesFilled: 0,
          samplesAdded: 19,
          rowsLeftOut: 0,
          rowsKnown: 0,
          issues: preview({ path, options: {} }).issues,
        },
      };
    },
    'ruling.set': ({ sampleIds, verdict, reason }) => {
      const now = open();
      const assessments = now.assessments.map((one) =>
        sampleIds.includes(one.sampleId)
          ? {
              ...one,
              ruling:
                verdict === null
                  ? null
                  : {
                      id: `r${revision}`,
                      sampleId: one.sampleId,
                      verdict,
                      reason,
                      actor: 'A. Sample',
                      atUtc: new Date().toISOString(),
                    },
              treatment: verdict ?? one.unruledTreatment,
            }
          : one,
      );
      return become({ ...now, assessments }, `Ruling on ${sampleIds.length} samples`);
    },
    'settings.set': ({ settings }) => become({ ...open(), settings }, 'Settings'),
    'surface.compute': async (_input, { wait }) => {
      for (const stage of ['variogram', 'kriging', 'cross-validation'])
        await wait(options.slowMs ?? 60, stage);
      return mockSurface(open());
    },
    'class.compute': async (_input, { wait }) => {
      await wait(options.slowMs ?? 60, 'draws');
      return mockClass(open());
    },
    'site.prepare': async (_input, { wait }) => {
      await wait(options.slowMs ?? 60, 'drawing the ground');
      return { realisations: 300, cells: 0, seed: 1, seconds: 0 };
    },
    'site.under': () => ({ ready: true, statistics: null, support: mockSupport }),
    'class.footprint': () => ({
      label: open().footprint?.label ?? '',
      areaM2: ringAreaM2(open().footprint?.ring ?? []),
      support: mockSupport,
      result: null,
      lotClass: 'medium radon index',
    }),
    'figure.preview': ({ options: { page = 'A4', orientation = 'portrait', template = 'map' } }) => {
      const [w, h] = orientation === 'portrait' ? [210, 297] : [297, 210];
      const part = { page: 1, leastHeightMm: 20, canHide: true, isFirstPageOnly: false, hidden: false };
      return {
        pageCount: 1,
        layout: {
          template,
          page,
          orientation,
          widthMm: w,
          heightMm: h,
          marginMm: 11,
          edgeMm: 5,
          parts: [
            {
              ...part,
              id: 'legend',
              name: 'Legend',
              xMm: 20,
              yMm: 40,
              widthMm: 60,
              heightMm: 50,
              leastWidthMm: 40,
              moved: false,
            },
          ],
          remarks: [],
          closing: {},
        },
        svg: `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${w} ${h}"><rect width="${w}" height="${h}" fill="#fff"/><rect x="12" y="12" width="${w - 24}" height="${h - 24}" fill="none" stroke="#1c2731" stroke-width=".4"/><text x="16" y="24" font-size="7" font-family="sans-serif">${page} mock figure</text></svg>`,
      };
    },
    'figure.save': ({ path }) => ({ path, bytes: 48_211 }),
    'export.save': ({ path }) => ({ path, bytes: 3_120 }),
    'record.list': () => ({
      entries: Array.from({ length: revision }, (_, i) => ({
        seq: i + 1,
        atUtc: `2025-05-15T06:${String(10 + (i % 50)).padStart(2, '0')}:00Z`,
        actor: 'A. Sample',
        command: 'ruling.set',
        summary: i === 0 ? 'Project made' : `Change ${i}`,
        hash: (i * 7919 + 104729).toString(16).padStart(8, '0').repeat(8),
        undone: false,
      })),
      intact: true,
    }),
    'record.undo': () => {
      const before = history.pop();
      if (before && view) {
        undone.push(view);
        revision++;
        view = { ...before, revision, canUndo: history.length > 0 ? 'Change' : null, canRedo: 'Change' };
      }
      return open();
    },
    'record.redo': () => {
      const after = undone.pop();
      if (after && view) {
        history.push(view);
        revision++;
        view = { ...after, revision, canRedo: undone.length > 0 ? 'Change' : null };
      }
      return open();
    },
    'crs.search': ({ text }) => ({
      choices: [
        {
          code: 32633,
          name: 'WGS 84 / UTM zone 33N',
          unitLabel: 'm',
          area: 'Between 12°E and 18°E, northern hemisphere.',
          note: null,
        },
        {
          code: 5514,
          name: 'S-JTSK / Krovak East North',
          unitLabel: 'm',
          area: 'Czechia and Slovakia.',
          note: 'To WGS 84 within 1 m.',
        },
        {
          code: 2249,
          name: 'NAD83 / Massachusetts Mainland (ftUS)',
          unitLabel: 'US survey ft',
          area: 'Massachusetts, mainland.',
          note: null,
        },
      ].filter((choice) =>
        `${choice.name} ${choice.code} ${choice.area}`.toLowerCase().includes(text.toLowerCase()),
      ),
    }),
    'engine.info': () => ({ host: 'mock', node: '24', version: '0.1.0', threads: 2 }),
    'job.cancel': ({ requestId }) => {
      cancelled.add(requestId);
      return null;
    },
  };

  return {
    async send(request: RequestEnvelope): Promise<ReplyEnvelope> {
      const { id, name, input } = request;
      await new Promise((resolve) => setTimeout(resolve, 5));
      try {
        if (options.failing?.includes(name)) {
          throw new AppError('BAD_INPUT', `The mock was told to fail "${name}".`, {
            file: 'mock.csv',
            row: 7,
            field: 'radon',
          });
        }
        let steps = 0;
        const wait = async (ms: number, stage: string) => {
          for (let i = 0; i < 5; i++) {
            await new Promise((resolve) => setTimeout(resolve, ms / 5));
            if (cancelled.has(id)) throw new AppError('CANCELLED', 'Cancelled.');
            steps++;
            emit({ kind: 'progress', requestId: id, done: Math.min(0.99, steps / 15), stage });
          }
        };
        const handler = handlers[name] as Handler<RequestName> | undefined;
        if (!handler) throw new AppError('BAD_USAGE', `The mock does not play "${name}".`);
        const output = await handler(input as never, { id, wait });
        return { kind: 'reply', id, ok: true, revision, output };
      } catch (error) {
        return { kind: 'reply', id, ok: false, revision, error: toWire(error) };
      }
    },
    onEvent(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    chooseOpen: async ({ title }) =>
      title.includes('project') ? '/home/sample/lot-7.gasplat' : '/home/sample/field-sheet.csv',
    chooseSave: async ({ suggestedName }) => `/home/sample/${suggestedName}`,
    reveal: async () => undefined,
    startUp: async () => ({ openPath: options.open ? '/home/sample/lot-7.gasplat' : null, demo: false }),
  };
}
