/** Marks what is drawn with its place in the structure of a PDF (ISO 32000-1, 14.6 to 14.8). */
import type { Tag } from './scene.ts';

type Document = PDFKit.PDFDocument;
type Element = PDFKit.PDFStructureElement;

/** Options of the library that its types leave out. */
interface Inner {
  readonly dictionary: { readonly data: Record<string, unknown> };
}

export class Tagger {
  readonly #doc: Document;
  readonly #root: Element;
  readonly #elements = new Map<Tag, Element>();
  #open: Tag | null = null;
  #lastText: Tag | null = null;

  constructor(doc: Document, title: string) {
    this.#doc = doc;
    this.#root = doc.struct('Document', { title });
    doc.addStructure(this.#root);
  }

  get open(): Tag | null {
    return this.#open;
  }

  /** What is drawn from here on belongs to the tag's element. */
  mark(tag: Tag): void {
    if (this.#open === tag) return;
    this.close();
    this.#open = tag;
    if (tag.role === 'Artifact') {
      this.#doc.markContent('Artifact', { type: 'Layout' });
      return;
    }
    this.element(tag).add(this.#doc.markStructureContent(tag.role));
  }

  /** @returns whether the words go on in the element of the text before */
  markText(tag: Tag): boolean {
    this.mark(tag);
    const goesOn = tag === this.#lastText && tag.role !== 'Figure' && tag.role !== 'Artifact';
    this.#lastText = tag;
    return goesOn;
  }

  close(): void {
    if (this.#open !== null) this.#doc.endMarkedContent();
    this.#open = null;
  }

  /** Makes the element, and those that hold it, where they are not there yet: a cell without text has one too. */
  element(tag: Tag): Element {
    // A row makes its cells in their order, this one among them.
    const holder = tag.within === undefined ? this.#root : this.element(tag.within);
    const known = this.#elements.get(tag);
    if (known !== undefined) return known;
    const element = this.#doc.struct(tag.role, tag.alt === undefined ? {} : { alt: tag.alt });
    const { data } = (element as unknown as Inner).dictionary;
    if (tag.scope !== undefined) data['A'] = { O: 'Table', Scope: tag.scope };
    this.#elements.set(tag, element);
    holder.add(element);
    for (const cell of tag.cells ?? []) this.element(cell);
    return element;
  }
}
