export declare const KERNELS_WASM: string;
/** @returns the module, the same bytes from the same sources and compiler */
export declare function compileKernels(): Promise<Uint8Array>;
