/** Layouts, next probes and placements: worked out, shown, and written only when a person accepts them. */
import type { CurveRequest } from '../../core/contract/field-sheets.ts';
import type { NextRequest, PlanRequest, SiteRequest } from '../../core/contract/planning.ts';
import type { Input } from '../../core/contract/requests.ts';
import { plural } from '../format.ts';
import type { AppKit } from './app.ts';
import type { AppState } from './app-state.ts';
import { nextBasis, planBasis, sitingBasis } from './basis.ts';

export const PLAN_JOB = 'Laying out probes';
export const CURVE_JOB = 'Weighing numbers of probes';
export const NEXT_JOB = 'Looking for the next probes';
export const SITE_JOB = 'Searching placements';

export interface Proposals {
  /** Proposals land in the state; nothing is written. */
  proposePlan(request: PlanRequest): Promise<void>;
  computeCurve(request: CurveRequest): Promise<void>;
  proposeNext(request: NextRequest): Promise<void>;
  searchSite(request: SiteRequest): Promise<void>;
  acceptProbes(probes: Input<'plan.accept'>): Promise<boolean>;
}

export function createProposals({ store, client, attempt, asJob, change }: AppKit): Proposals {
  const set = (patch: Partial<AppState>) => store.update((state) => ({ ...state, ...patch }));
  return {
    async proposePlan(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(PLAN_JOB, () =>
        asJob(PLAN_JOB, (job) => client.newest('plan', 'plan.propose', request, { ...job, dropStale: true })),
      );
      if (!result) return;
      const count = plural(result.probes.length, 'probe');
      set({ plan: { basis: planBasis(view), result, request }, said: `${count} laid out.` });
    },
    async computeCurve(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(CURVE_JOB, () =>
        asJob(CURVE_JOB, (job) => client.newest('curve', 'plan.curve', request, { ...job, dropStale: true })),
      );
      if (!result) return;
      const elbow = result.elbow === null ? undefined : result.points[result.elbow];
      set({
        curve: { basis: planBasis(view), result, request },
        said: elbow ? `The curve bends at ${plural(elbow.probes, 'probe')}.` : 'The curve does not bend.',
      });
    },
    async proposeNext(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(NEXT_JOB, () =>
        asJob(NEXT_JOB, (job) => client.newest('next', 'next.propose', request, { ...job, dropStale: true })),
      );
      if (result)
        set({
          next: { basis: nextBasis(view), result, request },
          said: `${plural(result.added.length, 'place')} found.`,
        });
    },
    async searchSite(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(SITE_JOB, () =>
        asJob(SITE_JOB, (job) => client.newest('site', 'site.search', request, { ...job, dropStale: true })),
      );
      if (!result) return;
      set({
        site: { basis: sitingBasis(view), result, request },
        chosenPlacement: result.ranked.length > 0 ? 0 : null,
        said: `${plural(result.ranked.length, 'placement')} ranked.`,
      });
    },
    async acceptProbes(input) {
      const done = await change(
        'Planning probes',
        () => client.request('plan.accept', input),
        `${plural(input.probes.length, 'probe')} planned.`,
      );
      if (done) set({ plan: null, next: null });
      return done;
    },
  };
}
