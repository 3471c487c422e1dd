/** Decodes a picture and makes it smaller on a thread of its own: a large one takes seconds. */
export interface PictureOrder {
  readonly blob: Blob;
  readonly widthPx: number;
  readonly heightPx: number;
}

export type PictureReply = { readonly bitmap: ImageBitmap } | { readonly problem: string };

addEventListener('message', async ({ data }: MessageEvent<PictureOrder>) => {
  const { blob, widthPx, heightPx } = data;
  try {
    const bitmap = await createImageBitmap(blob, {
      resizeWidth: widthPx,
      resizeHeight: heightPx,
      resizeQuality: 'medium',
    });
    postMessage({ bitmap } satisfies PictureReply, { transfer: [bitmap] });
  } catch (error) {
    const problem = error instanceof Error ? error.message : String(error);
    postMessage({ problem } satisfies PictureReply);
  }
});
