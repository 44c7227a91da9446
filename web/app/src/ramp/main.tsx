import '../shared/fonts.ts';
import '../shared/paper.css';
import './styles/index.css';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { Gate, startRamp } from '../phone/index.ts';
import { App } from './App.tsx';
import { AsSet } from './AsSet.tsx';
import { restore } from './route.ts';

startRamp();
const root = document.getElementById('app');
if (root) {
  createRoot(root).render(
    <StrictMode>
      <AsSet>
        <Gate before={restore}>
          <App />
        </Gate>
      </AsSet>
    </StrictMode>,
  );
}
