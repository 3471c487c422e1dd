import type { RuleRequests } from '../contract/rules.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { previewThresholds } from './preview-thresholds.ts';
import { importScheme, listSchemes, removeScheme, userSchemeFolder } from './schemes.ts';
import { buildView } from './view.ts';

export interface RuleDependencies {
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Requests on the limits behind the findings and on schemes that come as files. */
export function ruleHandlers(deps: RuleDependencies): Pick<Handlers, keyof RuleRequests> {
  function changed(work: (store: ProjectStore) => void) {
    const store = deps.current();
    work(store);
    deps.onChanged(store.revision);
    return buildView(store);
  }

  return {
    'thresholds.preview': (input) => previewThresholds(deps.current(), input),
    'scheme.list': () => listSchemes(buildView(deps.current()), userSchemeFolder()),
    'scheme.import': ({ path }) => changed((store) => void importScheme(store, path)),
    'scheme.remove': ({ sha256 }) => changed((store) => removeScheme(store, sha256)),
  };
}
