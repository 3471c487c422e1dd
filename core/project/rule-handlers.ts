import type { RuleRequests } from '../contract/rules.ts';
import type { Handlers } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
import { previewThresholds } from './preview-thresholds.ts';
import { importScheme, listSchemes, removeScheme, userSchemeFolder } from './schemes.ts';
import { buildView } from './view.ts';

/** Requests on the limits behind the findings and on schemes that come as files. */
export function ruleHandlers({ current, edit }: HandlerTools): Pick<Handlers, keyof RuleRequests> {
  return {
    'thresholds.preview': (input) => previewThresholds(current(), input),
    'scheme.list': () => listSchemes(buildView(current()), userSchemeFolder()),
    'scheme.import': ({ path }) => edit((store) => importScheme(store, path)),
    'scheme.remove': ({ sha256 }) => edit((store) => removeScheme(store, sha256)),
  };
}
