/** A report as headings, paragraphs, tables and drawings, before any page or tag: written once, set as PDF and as HTML. */
import type { SceneNode } from '../figure/scene.ts';

export interface TableColumn {
  readonly head: string;
  /** Parts of the width. */
  readonly share: number;
  readonly align?: 'start' | 'end';
  readonly strong?: boolean;
}

export interface Drawing {
  readonly nodes: readonly SceneNode[];
  readonly heightMm: number;
}

export type Tone = 'normal' | 'note' | 'strong' | 'warning';

export type ReportBlock =
  | { readonly kind: 'heading'; readonly level: 1 | 2; readonly text: string }
  | { readonly kind: 'statement'; readonly text: string }
  | { readonly kind: 'paragraph'; readonly text: string; readonly tone?: Tone }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'facts'; readonly rows: readonly (readonly [name: string, value: string])[] }
  | {
      readonly kind: 'table';
      readonly columns: readonly TableColumn[];
      readonly rows: readonly (readonly string[])[];
      readonly small?: boolean;
    }
  | {
      readonly kind: 'drawing';
      readonly name: string;
      readonly caption: string;
      /**
       * Part of the text height it may take; its width is the text width times `widthShare`. Two that follow each
       * other and take no more than half of it stand side by side.
       */
      readonly heightShare: number;
      readonly widthShare?: number;
      readonly draw: (widthMm: number, heightMm: number) => Drawing;
    }
  | { readonly kind: 'signatures'; readonly lines: readonly (readonly [role: string, name: string])[] }
  | { readonly kind: 'page-break'; readonly orientation: 'portrait' | 'landscape' };

export interface ReportDocument {
  readonly title: string;
  readonly projectName: string;
  readonly isDemo: boolean;
  /** At the foot of every page. */
  readonly footer: string;
  /** Meant to fit on page 1: set smaller where it must be. */
  readonly summary: readonly ReportBlock[];
  readonly body: readonly ReportBlock[];
}

export function heading(level: 1 | 2, text: string): ReportBlock {
  return { kind: 'heading', level, text };
}

export function paragraph(text: string, tone: Tone = 'normal'): ReportBlock {
  return { kind: 'paragraph', text, tone };
}

export function list(items: readonly string[]): ReportBlock {
  return { kind: 'list', items };
}

export function facts(...rows: readonly (readonly [name: string, value: string])[]): ReportBlock {
  return { kind: 'facts', rows };
}
