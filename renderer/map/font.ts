/** The face of every letter on the map, bundled (styles/fonts.css); a stack, as MapLibre asks for. */
export const FONT = ['Plat Sans'];
