import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import type { ShellBridge } from '../core/contract/shell.ts';
import { Workspace } from './App.tsx';
import { createApp } from './state/app.ts';
import { AppContext } from './state/context.ts';
import 'maplibre-gl/dist/maplibre-gl.css';
import './styles/fonts.css';
import './styles/base.css';
import './styles/layout.css';
import './styles/messages.css';
import './styles/dialog.css';
import './styles/forms.css';
import './styles/tables.css';
import './styles/charts.css';
import './styles/panels.css';
import './styles/sheet-editor.css';
import './styles/map.css';
import './styles/legend.css';
import './styles/drawing-bar.css';

declare global {
  interface Window {
    readonly gasplat: ShellBridge;
  }
}

const root = document.getElementById('root');
if (!root) throw new Error('The page has no #root.');
const app = createApp(window.gasplat, window.localStorage);
createRoot(root).render(
  <StrictMode>
    <AppContext value={app}>
      <Workspace />
    </AppContext>
  </StrictMode>,
);
void app.start();
