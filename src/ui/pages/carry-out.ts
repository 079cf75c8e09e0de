/** Turns what was asked into the rehearsal's intents. The casts from plain numbers to quantities are here. */
import { bars, bpm, decibels, milliseconds } from '../../core/units/index.js';
import type { RehearsalIntents } from '../../rehearsal/intents.js';
import type { Ask } from '../asks.js';

/** Everything but the look, which is the page's own. */
export type RehearsalAsk = Exclude<Ask, { type: 'choose-theme' }>;

export function carryOut(ask: RehearsalAsk, rehearsal: RehearsalIntents): void {
  const { song, sectionInHand } = rehearsal.snapshot;
  switch (ask.type) {
    case 'press':
      return rehearsal.press(milliseconds(ask.timeStamp));
    case 'hear-beat':
      return rehearsal.hearBeat(milliseconds(ask.timeStamp));
    case 'stop':
      return ask.held === true
        ? rehearsal.stop(milliseconds(ask.timeStamp), true)
        : rehearsal.stop(milliseconds(ask.timeStamp));
    case 'take-back':
      return rehearsal.takeBack(milliseconds(ask.timeStamp));
    case 'put-back':
      return rehearsal.putBack();
    case 'keep-that':
      return rehearsal.keepThat(milliseconds(ask.timeStamp));
    case 'record-without-tempo':
      return rehearsal.recordWithoutTempo(ask.on);
    case 'read-as':
      return rehearsal.readAs(ask.reading);
    case 'drop-idea':
      return rehearsal.dropIdea(ask.idea);
    case 'tap':
      return rehearsal.tap(milliseconds(ask.timeStamp));
    case 'turn-click':
      return rehearsal.setClick(!song.click.on);
    case 'set-tempo':
      return rehearsal.setTempo(bpm(ask.bpm));
    case 'set-metre':
      return rehearsal.setMetre(ask.metre, ask.mark);
    case 'set-count-in':
      return rehearsal.setCountIn(ask.bars === null ? null : bars(ask.bars));
    case 'set-section-bars':
      return rehearsal.setSectionBars(sectionInHand, ask.bars === null ? null : bars(ask.bars));
    case 'retitle':
      return rehearsal.retitle(ask.title);
    case 'rename-layer':
      return rehearsal.renameLayer(sectionInHand, ask.layer, ask.name);
    case 'leave-out':
      return rehearsal.leaveOut(sectionInHand, ask.layer, ask.out);
    case 'set-layer-gain':
      return rehearsal.setLayerGain(sectionInHand, ask.layer, decibels(ask.gain));
    case 'open-sound':
      return rehearsal.openSound();
    case 'use-channel':
      return rehearsal.useChannel(ask.channel);
    case 'state-round-trip':
      return rehearsal.stateRoundTrip(ask.ms === null ? null : milliseconds(ask.ms));
    case 'measure':
      return rehearsal.measureRoundTrip({ kind: 'whole', way: ask.way, level: decibels(ask.level) });
    case 'check':
      return rehearsal.checkRoundTrip(ask.way);
    case 'leave-measuring':
      return rehearsal.leaveMeasuring();
    case 'use-input':
      return rehearsal.useInput(ask.id);
    case 'use-output':
      return rehearsal.useOutput(ask.id);
    case 'use-pace':
      return rehearsal.usePace(ask.pace);
    case 'use-reference':
      return rehearsal.useReference(ask.order);
    case 'realign-from':
      return rehearsal.realignFrom(sectionInHand, ask.layer, bars(ask.bar), milliseconds(ask.ms));
    case 'dismiss-notice':
      return rehearsal.dismissNotice();
    default:
      return ask satisfies never;
  }
}
