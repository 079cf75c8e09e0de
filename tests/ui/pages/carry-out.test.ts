import { expect, test } from 'vitest';
import type { LayerId } from '../../../src/core/song/ids.js';
import { asId } from '../../../src/core/song/ids.js';
import { carryOut, type RehearsalAsk } from '../../../src/ui/pages/carry-out.js';
import { FakeRehearsal, type Call } from '../support/fake-rehearsal.js';
import { SECTION, snapshotOf } from '../support/harbour-ferry.js';

const layer = asId<LayerId>('bass');

test.each<readonly [RehearsalAsk, Call]>([
  [{ type: 'measure', way: 'cable', level: -30 }, ['measureRoundTrip', { kind: 'whole', way: 'cable', level: -30 }]],
  [{ type: 'check', way: 'air' }, ['checkRoundTrip', 'air']],
  [{ type: 'leave-measuring' }, ['leaveMeasuring']],
  [{ type: 'use-input', id: 'built-in' }, ['useInput', 'built-in']],
  [{ type: 'use-output', id: null }, ['useOutput', null]],
  [{ type: 'use-pace', pace: 'quick' }, ['usePace', 'quick']],
  [{ type: 'use-reference', order: { on: true, side: 'left' } }, ['useReference', { on: true, side: 'left' }]],
  [{ type: 'realign-from', layer, bar: 2, ms: 6.5 }, ['realignFrom', SECTION, layer, 2, 6.5]],
])('%o becomes %o', (ask, call) => {
  const rehearsal = new FakeRehearsal(snapshotOf());
  carryOut(ask, rehearsal);
  expect(rehearsal.calls).toEqual([call]);
});
