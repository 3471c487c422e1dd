/** Types for the TypeScript tests; the code and its comments are in electron-runtime.mjs. */
export interface ElectronRuntime {
  readonly path: string;
  readonly version: string;
  readonly substitute: boolean;
}
export const substituteFolder: string;
export const SUBSTITUTE_RECIPE: number;
export function electronRuntime(): ElectronRuntime;
export function findElectron(): ElectronRuntime | undefined;
