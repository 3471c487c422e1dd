/** Places of the building: kept ones, and what the engine says of a place while it is in hand. */
import type { Pose } from '../../core/contract/model.ts';
import type { FootprintShape, UnderPlace } from '../../core/contract/siting.ts';
import { AppError } from '../../core/errors.ts';
import { DroppedReply } from '../client.ts';
import type { AppKit } from './app.ts';
import { type Computed, type SitingState, standingPose } from './app-state.ts';
import { groundBasis, keptBasis, surfaceBasis } from './basis.ts';
import { problemOf } from './problem.ts';

export const GROUND_JOB = 'Drawing the ground';

export interface Siting {
  setFootprintShape(label: string, shape: FootprintShape): Promise<boolean>;
  keepPlacement(label: string | null, pose: Pose, choose: boolean): Promise<boolean>;
  /** Null puts the footprint back as drawn. */
  choosePlacement(id: string | null): Promise<boolean>;
  removePlacement(id: string): Promise<boolean>;
  /** Has the engine draw the realisations that live statistics are read from. */
  prepareGround(): Promise<void>;
  /** What lies under the place in hand; questions that a hand overtakes are never sent. */
  askInHand(): Promise<void>;
  askStanding(): Promise<void>;
  compareKept(): Promise<void>;
  readFootprintClass(): Promise<void>;
}

export function createSiting({ store, client, asJob, change }: AppKit): Siting {
  const set = (patch: Partial<SitingState>) =>
    store.update((state) => ({ ...state, siting: { ...state.siting, ...patch } }));

  /** What a drop or a failure leaves undone is asked again when the project, or the hand, has moved on. */
  async function quietly<T>(doing: string, work: () => Promise<T>): Promise<T | null> {
    try {
      return await work();
    } catch (error) {
      if (error instanceof DroppedReply || (error instanceof AppError && error.code === 'CANCELLED'))
        return null;
      store.update((state) => ({ ...state, problem: problemOf(doing, error) }));
      return null;
    }
  }

  async function askUnder(lane: string, pose: Pose): Promise<Computed<UnderPlace> | null> {
    const view = store.get().view;
    if (!view?.footprint) return null;
    const result = await quietly('Asking what lies under the place', () =>
      client.newest(lane, 'site.under', { place: { pose } }, { dropStale: true, keepOvertaken: true }),
    );
    if (!result) return null;
    // The engine has let its realisations go, as after a start of its own: they are drawn anew.
    if (!result.ready && store.get().siting.ground?.status === 'ready') set({ ground: null });
    return { basis: groundBasis(view), result };
  }

  return {
    setFootprintShape: (label, shape) =>
      change(
        'Setting the footprint',
        () => client.request('footprint.shape', { label, shape, centre: null }),
        'Footprint set.',
      ),
    keepPlacement: (label, pose, choose) =>
      change(
        'Keeping the placement',
        () => client.request('placement.keep', { label, pose, choose }),
        choose ? 'Placement kept and chosen.' : 'Placement kept.',
      ),
    choosePlacement: (id) =>
      change(
        'Choosing a placement',
        () => client.request('placement.choose', { id }),
        id === null ? 'The footprint stands as drawn.' : 'Placement chosen.',
      ),
    removePlacement: (id) =>
      change(
        'Removing the placement',
        () => client.request('placement.remove', { id }),
        'Placement removed.',
      ),
    async prepareGround() {
      const view = store.get().view;
      if (!view) return;
      const basis = surfaceBasis(view);
      const isMine = () => store.get().siting.ground?.basis === basis;
      set({ ground: { basis, status: 'drawing', problem: null } });
      try {
        await asJob(GROUND_JOB, (job) => client.request('site.prepare', {}, { ...job, dropStale: true }));
        if (isMine()) set({ ground: { basis, status: 'ready', problem: null } });
      } catch (error) {
        if (!isMine()) return;
        if (error instanceof DroppedReply) set({ ground: null });
        else set({ ground: { basis, status: 'failed', problem: problemOf(GROUND_JOB, error) } });
      }
    },
    async askInHand() {
      const pose = store.get().placement;
      const found = await askUnder('in-hand', pose);
      if (found) set({ inHand: { ...found, pose } });
    },
    async askStanding() {
      const standing = await askUnder('standing', standingPose(store.get().view));
      if (standing) set({ standing });
    },
    async compareKept() {
      const view = store.get().view;
      if (!view) return;
      const basis = keptBasis(view);
      const result = await quietly('Comparing kept placements', () =>
        client.newest('kept', 'site.compare', {}, { dropStale: true }),
      );
      if (result) set({ kept: { basis, result } });
    },
    async readFootprintClass() {
      const view = store.get().view;
      if (!view?.footprint) return;
      const basis = keptBasis(view);
      const result = await quietly('Reading the class under the footprint', () =>
        client.newest('footprint-class', 'class.footprint', {}, { dropStale: true }),
      );
      if (result) set({ footprintClass: { basis, result } });
    },
  };
}
