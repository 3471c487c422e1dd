/** Head and foot of every page. */
import type { FigureInput } from './figure-model.ts';
import type { RectMm, SceneNode, Tag, TextNode } from './scene.ts';
import { ARTIFACT, polylineSegments, rectSegments } from './scene.ts';
import { DEMO_INK, HAIRLINE, INK, NEAT_LINE, PROJECT_PT, SMALL_PT, SOFT_INK, TITLE_PT } from './style.ts';
import { fitSize, measureText, shortenText } from './text.ts';

export const DEMO_MARK = 'Invented data, for demonstration';
const DEMO_PT = 9;

export function drawHeader(input: FigureInput, header: RectMm, subtitle: string | null): SceneNode[] {
  const right = header.xMm + header.widthMm;
  const nodes: SceneNode[] = [];
  const mark: SceneNode[] = [];
  let room = header.widthMm;
  if (input.isDemo) {
    const width = measureText(DEMO_MARK, 'semibold', DEMO_PT) + 5;
    room -= width + 5;
    mark.push(
      {
        kind: 'path',
        segments: rectSegments({ xMm: right - width, yMm: header.yMm, widthMm: width, heightMm: 6.4 }),
        stroke: { colour: DEMO_INK, widthMm: 0.35 },
      },
      {
        kind: 'text',
        text: DEMO_MARK,
        xMm: right - width / 2,
        yMm: header.yMm + 4.25,
        sizePt: DEMO_PT,
        face: 'semibold',
        colour: DEMO_INK,
        anchor: 'middle',
        role: 'demo',
        tag: subtitle === null ? { role: 'P' } : ARTIFACT,
      },
    );
  }
  // On later pages the head is the same again: nobody wants to hear it twice.
  const asFirst = (role: 'H1' | 'P'): Tag => (subtitle === null ? { role } : ARTIFACT);
  const title = subtitle === null ? input.title : `${input.title} · ${subtitle}`;
  const line = (
    text: string,
    yMm: number,
    sizePt: number,
    minimumPt: number,
    more: Partial<TextNode>,
  ): void => {
    const face = more.face ?? 'regular';
    const size = fitSize(text, face, sizePt, minimumPt, room);
    nodes.push({
      kind: 'text',
      text: shortenText(text, face, size, room),
      xMm: header.xMm,
      yMm,
      sizePt: size,
      face,
      colour: INK,
      anchor: 'start',
      ...more,
    });
  };
  line(title, header.yMm + 4.6, TITLE_PT, 9, { face: 'semibold', role: 'title', tag: asFirst('H1') });
  line(input.projectName, header.yMm + 10, PROJECT_PT, 7, { role: 'project', tag: asFirst('P') });
  nodes.push({
    kind: 'path',
    segments: polylineSegments([
      [header.xMm, header.yMm + header.heightMm - 3],
      [right, header.yMm + header.heightMm - 3],
    ]),
    stroke: NEAT_LINE,
  });
  return [...nodes, ...mark];
}

export function drawFooter(input: FigureInput, footer: RectMm, page: number, pages: number): SceneNode[] {
  const right = footer.xMm + footer.widthMm;
  const pageText = `Page ${page} of ${pages}`;
  const room = footer.widthMm - measureText(pageText, 'semibold', SMALL_PT) - 5;
  const hash = input.recordHash === null ? 'no record' : `record ${input.recordHash.slice(0, 16)}`;
  const number = input.sheet?.licenceNumber;
  const licence = number === undefined ? '' : `, licence ${number}`;
  const facts = [
    input.preparedBy === null ? 'Preparer not named' : `Prepared by ${input.preparedBy}${licence}`,
    input.sampledOn === null ? 'Sampling dates not known' : `Sampled ${input.sampledOn}`,
    `Drawn ${input.createdUtc.slice(0, 10)}`,
    `Project revision ${input.revision}, ${hash}`,
    input.program,
  ].join('  ·  ');
  const sizePt = fitSize(facts, 'regular', SMALL_PT, 5.5, room);
  const tag: Tag = page === 1 ? { role: 'P' } : ARTIFACT;
  const common = { kind: 'text', yMm: footer.yMm + 4.2, colour: SOFT_INK, tag } as const;
  return [
    {
      kind: 'path',
      segments: polylineSegments([
        [footer.xMm, footer.yMm + 0.8],
        [right, footer.yMm + 0.8],
      ]),
      stroke: HAIRLINE,
    },
    {
      ...common,
      text: shortenText(facts, 'regular', sizePt, room),
      xMm: footer.xMm,
      sizePt,
      face: 'regular',
      anchor: 'start',
      role: 'footer',
    },
    {
      ...common,
      text: pageText,
      xMm: right,
      sizePt: SMALL_PT,
      face: 'semibold',
      anchor: 'end',
      role: 'page',
    },
  ];
}
