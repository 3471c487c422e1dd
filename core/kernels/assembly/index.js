"use strict";
Object.defineProperty(exports, "__esModule", { value: true });
exports.sumSquares = exports.solvePanels = exports.project = exports.factorPanels = exports.peak = exports.inverseSquareDistance = exports.inverseDistance = exports.covariances = void 0;
/**
 * Number kernels in AssemblyScript, 128-bit SIMD without relaxed instructions, so that every machine gives the same
 * bits. All memory is laid out by the caller; addresses are bytes. `../plain.ts` does the same arithmetic in the same
 * order in TypeScript and says what each function computes.
 */
var covariance_1 = require("./covariance");
Object.defineProperty(exports, "covariances", { enumerable: true, get: function () { return covariance_1.covariances; } });
var inverse_distance_1 = require("./inverse-distance");
Object.defineProperty(exports, "inverseDistance", { enumerable: true, get: function () { return inverse_distance_1.inverseDistance; } });
Object.defineProperty(exports, "inverseSquareDistance", { enumerable: true, get: function () { return inverse_distance_1.inverseSquareDistance; } });
var peak_1 = require("./peak");
Object.defineProperty(exports, "peak", { enumerable: true, get: function () { return peak_1.peak; } });
var triangular_1 = require("./triangular");
Object.defineProperty(exports, "factorPanels", { enumerable: true, get: function () { return triangular_1.factorPanels; } });
Object.defineProperty(exports, "project", { enumerable: true, get: function () { return triangular_1.project; } });
Object.defineProperty(exports, "solvePanels", { enumerable: true, get: function () { return triangular_1.solvePanels; } });
Object.defineProperty(exports, "sumSquares", { enumerable: true, get: function () { return triangular_1.sumSquares; } });
