/** Names of the messages between preload and main. */
export const CHANNELS = {
  send: 'gasplat:send',
  event: 'gasplat:event',
  chooseOpen: 'gasplat:choose-open',
  chooseSave: 'gasplat:choose-save',
  reveal: 'gasplat:reveal',
  startUp: 'gasplat:start-up',
} as const;
