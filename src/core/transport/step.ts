/**
 * The transport as a pure function: a plan, what the player did and when it was heard, to the plan that follows and
 * what the engine has to do about it. Source of the rules: the one-switch table and the press rules in DEVELOPERS.md.
 */
import { stop, takeBack } from './ending.js';
import type { Step, StepContext, TransportEvent } from './events.js';
import { keepThat } from './keep-that.js';
import type { Plan } from './plan.js';
import { join, play, press } from './switching.js';

export function step(plan: Plan, event: TransportEvent, context: StepContext): Step {
  switch (event.type) {
    case 'press':
      return press(plan, event.heard, context);
    case 'play':
      return plan.type === 'stopped' ? play(context) : { plan, effects: [] };
    case 'stop':
      return stop(plan, event.heard, event.held === true ? context.lastPress : null, context);
    case 'take-back':
      return takeBack(plan, event.heard, context);
    case 'keep-that':
      return keepThat(plan, event.heard, event.bars, context);
    case 'join':
      return join(plan, event.origin, context);
    default:
      return event satisfies never;
  }
}
