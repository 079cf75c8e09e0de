/**
 * Finds what a player would find: things by their role and the name that is read out, through every shadow root. Knows as
 * much of the accessible name as these elements use: `aria-label`, a label, the text that is not hidden, then the title.
 */

const IMPLICIT: Readonly<Record<string, string>> = {
  BUTTON: 'button',
  H1: 'heading',
  H2: 'heading',
  LI: 'listitem',
  SELECT: 'combobox',
  UL: 'list',
};

/** Text runs on through these, and breaks at all others. */
const INLINE = new Set(['SPAN', 'KBD', 'OPTION']);

export function everything(root: ParentNode): readonly Element[] {
  return [...root.querySelectorAll('*')].flatMap((element) => [
    element,
    ...(element.shadowRoot ? everything(element.shadowRoot) : []),
  ]);
}

export function allByRole(root: ParentNode, role: string): readonly HTMLElement[] {
  return everything(root).filter((element): element is HTMLElement => roleOf(element) === role && !isHidden(element));
}

/** @throws where there is none, or more than one. `name` matches as a whole or by pattern. */
export function byRole(root: ParentNode, role: string, name: string | RegExp): HTMLElement {
  const found = allByRole(root, role).filter((element) => matches(nameOf(element), name));
  if (found.length !== 1) {
    const names = allByRole(root, role).map((element) => `"${nameOf(element)}"`);
    throw new Error(
      `Got ${found.length} of role ${role} named ${String(name)} when expected one; there are ${names.join(', ')}.`,
    );
  }
  return found[0]!;
}

export function nameOf(element: Element): string {
  const label = element.getAttribute('aria-label') ?? labelOf(element);
  const text =
    label ?? (element instanceof HTMLInputElement || element instanceof HTMLSelectElement ? '' : textOf(element));
  return tidy(text) || tidy(element.getAttribute('title') ?? '');
}

/** What can be read in an element and its shadow roots, spoken words included, hidden ones not. */
export const textOf = (node: Node): string => tidy(rawTextOf(node));

function rawTextOf(node: Node): string {
  if (node.nodeType === Node.TEXT_NODE) return node.textContent ?? '';
  if (node instanceof Element && (isHidden(node) || node.tagName === 'STYLE')) return '';
  const children =
    node instanceof Element && node.shadowRoot ? [node.shadowRoot, ...node.childNodes] : [...node.childNodes];
  const text = children.map(rawTextOf).join('');
  return node instanceof Element && !INLINE.has(node.tagName) ? ` ${text} ` : text;
}

function roleOf(element: Element): string | null {
  if (element instanceof HTMLInputElement) {
    return element.getAttribute('role') ?? (element.type === 'radio' ? 'radio' : 'textbox');
  }
  return element.getAttribute('role') ?? IMPLICIT[element.tagName] ?? null;
}

function labelOf(element: Element): string | null {
  const root = element.getRootNode() as ParentNode;
  const label = element.closest('label') ?? (element.id ? root.querySelector(`label[for=${element.id}]`) : null);
  if (label === null) return null;
  return [...label.childNodes]
    .filter((child) => child !== element)
    .map(textOf)
    .join(' ');
}

const isHidden = (element: Element): boolean =>
  element.getAttribute('aria-hidden') === 'true' || element.hasAttribute('hidden');
const matches = (text: string, name: string | RegExp): boolean =>
  typeof name === 'string' ? text === name : name.test(text);
const tidy = (text: string): string => text.replace(/\s+/g, ' ').trim();
