/** The bundled letters and the rasteriser's binary: the only place in this folder that reads files. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import * as fontkit from 'fontkit';
import type { FontFace } from './scene.ts';

const FAMILY_PACKAGE = '@expo-google-fonts/source-sans-3';

const FILES: Record<FontFace, string> = {
  regular: '400Regular/SourceSans3_400Regular.ttf',
  semibold: '600SemiBold/SourceSans3_600SemiBold.ttf',
  italic: '400Regular_Italic/SourceSans3_400Regular_Italic.ttf',
};

export const FONT_FAMILY = 'Source Sans 3';

/** How the face is asked for in SVG and CSS. */
export const FACE_STYLE: Record<FontFace, { readonly weight: number; readonly style: 'normal' | 'italic' }> =
  {
    regular: { weight: 400, style: 'normal' },
    semibold: { weight: 600, style: 'normal' },
    italic: { weight: 400, style: 'italic' },
  };

export const FACES = Object.keys(FILES) as readonly FontFace[];

const resolvePackageFile = createRequire(import.meta.url).resolve;
const bytesOf = new Map<string, Uint8Array>();

function readPackageFile(specifier: string): Uint8Array {
  let bytes = bytesOf.get(specifier);
  if (bytes === undefined) {
    bytes = new Uint8Array(readFileSync(resolvePackageFile(specifier)));
    bytesOf.set(specifier, bytes);
  }
  return bytes;
}

/** The whole TrueType file of a face. */
export function fontBytes(face: FontFace): Uint8Array {
  return readPackageFile(`${FAMILY_PACKAGE}/${FILES[face]}`);
}

export function rasteriserBytes(): Uint8Array {
  return readPackageFile('@resvg/resvg-wasm/index_bg.wasm');
}

const opened = new Map<FontFace, fontkit.Font>();

/** The face as an open font, for measuring and for glyph outlines. */
export function openFont(face: FontFace): fontkit.Font {
  let font = opened.get(face);
  if (font === undefined) {
    font = fontkit.create(fontBytes(face) as Buffer) as fontkit.Font;
    opened.set(face, font);
  }
  return font;
}
