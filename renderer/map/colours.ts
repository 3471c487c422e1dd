/** The sheet's few colours, as in styles/base.css; the map library cannot read CSS variables. */
export const PAPER_SHEET = '#fffdf8';
export const INK = '#1c2731';
export const MUTED = '#5c6870';
export const ACCENT = '#0b6359';
