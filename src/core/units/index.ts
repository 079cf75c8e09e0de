/** Quantities and their conversions: the one barrel of the project, because everything needs it. */
export * from './quantities.js';
export * from './conversions.js';
