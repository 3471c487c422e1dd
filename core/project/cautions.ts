/** What every figure, report and screen says. Wording is ours; the substance is in docs/science.md with sources. */
export const CAUTIONS: readonly string[] = [
  'Have buried services located and marked before any probe is driven.',
  'Follow radiation and site-safety rules; vent pumped soil gas away from people and closed vehicles.',
  'Soil gas does not by itself tell the radon in a finished house. Test the house when it is in use.',
  'The class follows the named scheme only. Local code and a licensed practitioner decide.',
  'The map is a model of the ground between probes; the class comes from the measured samples alone.',
];
