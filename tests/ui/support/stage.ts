/** Puts elements on a page, waits for them, and listens to what they ask. */
import type { LitElement } from 'lit';
import type { Ask } from '../../../src/ui/asks.js';
import { everything } from './roles.js';

/** An element with its properties set, in the document, drawn to the last shadow root. */
export async function staged<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  properties: Partial<HTMLElementTagNameMap[Tag]> = {},
): Promise<HTMLElementTagNameMap[Tag]> {
  const element = document.createElement(tag);
  Object.assign(element, properties);
  leaveFocus();
  document.body.replaceChildren(element);
  await settled(element);
  return element;
}

/** Until nothing inside is left to draw. */
export async function settled(root: Element): Promise<void> {
  for (let pending = true; pending;) {
    const drawn = [root, ...(root.shadowRoot ? everything(root.shadowRoot) : []), ...everything(root)].filter(isLit);
    const done = await Promise.all(drawn.map((element) => element.updateComplete));
    const after = [root, ...(root.shadowRoot ? everything(root.shadowRoot) : []), ...everything(root)].filter(isLit);
    pending = done.includes(false) || after.length !== drawn.length || after.some((element) => element.isUpdatePending);
  }
}

/** Everything asked from here on, in order. */
export function asksOf(element: HTMLElement): readonly Ask[] {
  const asks: Ask[] = [];
  element.addEventListener('mh-ask', (event) => asks.push(event.ask));
  return asks;
}

export interface KeyOptions {
  readonly shift?: boolean;
  readonly ctrl?: boolean;
  readonly repeat?: boolean;
}

/** A key going down where the focus is; gives the event, so that tests can see whether it was taken. */
export function keyDown(target: EventTarget, key: string, { shift, ctrl, repeat }: KeyOptions = {}): KeyboardEvent {
  return sent(target, 'keydown', key, { shiftKey: shift === true, ctrlKey: ctrl === true, repeat: repeat === true });
}

export const keyUp = (target: EventTarget, key: string): KeyboardEvent => sent(target, 'keyup', key, {});

function sent(target: EventTarget, type: string, key: string, init: KeyboardEventInit): KeyboardEvent {
  const event = new KeyboardEvent(type, { key, bubbles: true, composed: true, cancelable: true, ...init });
  target.dispatchEvent(event);
  return event;
}

/** Types into a field and tells it so. */
export function type(field: HTMLElement, text: string): void {
  if (!(field instanceof HTMLInputElement)) throw new TypeError(`Got ${field.tagName} when expected a field.`);
  field.value = text;
  field.dispatchEvent(new Event('input', { bubbles: true, composed: true }));
}

export function choose(select: HTMLElement, value: string): void {
  if (!(select instanceof HTMLSelectElement)) throw new TypeError(`Got ${select.tagName} when expected a choice.`);
  select.value = value;
  select.dispatchEvent(new Event('change', { bubbles: true, composed: true }));
}

function isLit(element: Element): element is LitElement {
  return 'updateComplete' in element;
}

/**
 * Takes the focus from whatever has it. Happy-dom, unlike browsers, remembers the focus of what is no longer there, can't say
 * what is focused in a shadow root beside the focus, and tells of a move of the focus what lies inside other shadow roots.
 */
export function leaveFocus(): void {
  let focused = document.activeElement;
  while (focused?.shadowRoot?.activeElement) focused = focused.shadowRoot.activeElement;
  if (focused instanceof HTMLElement) focused.blur();
}
