import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = resolve(dirname(fileURLToPath(import.meta.url)), '../..');

/** @param {...string} parts */
export const inRoot = (...parts) => join(root, ...parts);
