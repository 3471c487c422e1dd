import { Menu, type MenuItemConstructorOptions } from 'electron';

/**
 * Standard commands only: the window's own commands and their keys belong to the page. Undo and redo are left
 * out for that reason, because they mean the project's record.
 */
export function setApplicationMenu(packaged: boolean): void {
  const separator: MenuItemConstructorOptions = { type: 'separator' };
  const template: MenuItemConstructorOptions[] = [
    ...(process.platform === 'darwin' ? [{ role: 'appMenu' } as const] : []),
    { label: '&Gasplat', submenu: [{ role: 'quit', label: 'Close Gasplat', accelerator: 'CmdOrCtrl+Q' }] },
    {
      label: '&Edit',
      submenu: [
        { role: 'cut', label: 'Cut' },
        { role: 'copy', label: 'Copy' },
        { role: 'paste', label: 'Paste' },
        { role: 'selectAll', label: 'Select everything' },
      ],
    },
    {
      label: '&View',
      submenu: [
        { role: 'zoomIn', label: 'Larger text' },
        { role: 'zoomOut', label: 'Smaller text' },
        { role: 'resetZoom', label: 'Normal text' },
        separator,
        { role: 'togglefullscreen', label: 'Whole screen' },
        ...(packaged ? [] : [separator, { role: 'toggleDevTools', label: 'Developer tools' } as const]),
      ],
    },
  ];
  Menu.setApplicationMenu(Menu.buildFromTemplate(template));
}
