/** Schemes of this edition by id, as in core/classify/schemes; the engine says when one is not there. */
export const SCHEMES: readonly {
  readonly id: string;
  readonly name: string;
  readonly needsLimits: boolean;
}[] = [
  { id: 'czech-building-site-index', name: 'Czech building-site radon index', needsLimits: false },
  { id: 'limits-entered', name: 'Compare with limits I enter', needsLimits: true },
];
