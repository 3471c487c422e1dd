import type { Sample } from '../contract/model.ts';

/** A sample with all that a field sheet can say of it. A rule whose number is not there says nothing. */
export type FieldSample = Sample;
