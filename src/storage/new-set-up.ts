import type { SetUp } from '../ports/library.js';

/** What a machine starts with: the system's own devices, and nothing measured. */
export const NEW_SET_UP: SetUp = { inputId: null, outputId: null, pace: 'steady', roundTrips: [] };
