/** Puts the Build page into the document. */
import type { RehearsalIntents } from '../../rehearsal/intents.js';
import './build-page.js';

/** Replaces what `root` holds. The page lives until it is taken out of the document. */
export function mountBuild(root: HTMLElement, rehearsal: RehearsalIntents): void {
  const page = document.createElement('mh-build-page');
  page.rehearsal = rehearsal;
  root.replaceChildren(page);
}
