/** What was chosen on this machine: one row, of no song. Losing it costs a choice, never a take. */
import * as v from 'valibot';
import type { Result } from '../core/result/result.js';
import { success } from '../core/result/result.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { frames, sampleRate } from '../core/units/index.js';
import type { SetUp, StorageRefusal } from '../ports/library.js';
import type { Connection } from './connection.js';
import { NEW_SET_UP } from './new-set-up.js';
import { SET_UP_ID } from './schema.js';

type Answer<Value> = Promise<Result<Value, StorageRefusal>>;

const deviceId = v.nullable(v.string());
const pace = v.picklist(['steady', 'quick']);
const wholeFrames = v.pipe(
  v.number(),
  v.safeInteger(),
  v.transform((value): Frames => frames(value)),
);
const wholeNumber = v.pipe(v.number(), v.safeInteger(), v.minValue(0));
const rate = v.pipe(
  v.number(),
  v.finite(),
  v.gtValue(0),
  v.transform((value): SampleRate => sampleRate(value)),
);

const setUpSchema = v.object({
  inputId: deviceId,
  outputId: deviceId,
  pace,
  roundTrips: v.array(
    v.object({
      inputId: deviceId,
      outputId: deviceId,
      sampleRate: rate,
      pace,
      frames: wholeFrames,
      how: v.picklist(['cable', 'measured']),
      at: v.string(),
    }),
  ),
  reference: v.exactOptional(v.object({ side: v.picklist(['left', 'right']), channel: wholeNumber })),
});

/** What was kept, or the set-up of a new machine where that is damaged: it can be chosen again. */
export function readSetUp(connection: Connection): Answer<SetUp> {
  return connection.read(['set-up'], async (transaction): Answer<SetUp> => {
    const parsed = v.safeParse(setUpSchema, await transaction.objectStore('set-up').get(SET_UP_ID));
    return success(parsed.success ? parsed.output : NEW_SET_UP);
  });
}

export function keepSetUp(connection: Connection, setUp: SetUp): Answer<null> {
  return connection.write(['set-up'], async (transaction) => {
    await transaction.objectStore('set-up').put({ ...setUp, id: SET_UP_ID });
    return success(null);
  });
}
