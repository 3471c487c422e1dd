/**
 * Number kernels in AssemblyScript, 128-bit SIMD without relaxed instructions, so that every machine gives the same
 * bits. All memory is laid out by the caller; addresses are bytes. `../plain.ts` does the same arithmetic in the same
 * order in TypeScript and says what each function computes.
 */
export { covariances } from './covariance';
export { inverseDistance, inverseSquareDistance } from './inverse-distance';
export { peak } from './peak';
export { factorPanels, project, solvePanels, sumSquares } from './triangular';
