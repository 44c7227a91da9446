import { QueryClientProvider } from '@tanstack/react-query';
import { lazy, Suspense } from 'react';
import { Route, Router, Switch, useLocation } from 'wouter';
import { setZone } from './clock.ts';
import { cache, useMe, useProgramme } from './data.ts';
import { Missing, Reading } from './parts/State.tsx';
import { useTop } from './parts/useTop.ts';
import { Shell } from './Shell.tsx';
import { NoPages, SignIn } from './SignIn.tsx';

const Morning = lazy(() => import('./pages/Morning.tsx'));
const Ledger = lazy(() => import('./pages/Ledger.tsx'));
const LedgerPrint = lazy(() => import('./pages/LedgerPrint.tsx'));
const Import = lazy(() => import('./pages/Import.tsx'));
const Boat = lazy(() => import('./pages/Boat.tsx'));
const Settle = lazy(() => import('./pages/Settle.tsx'));
const Waters = lazy(() => import('./pages/Waters.tsx'));
const OneWater = lazy(() => import('./pages/OneWater.tsx'));
const RegionMap = lazy(() => import('./pages/Map.tsx'));
const Season = lazy(() => import('./pages/Season.tsx'));
const Behind = lazy(() => import('./pages/Behind.tsx'));
const Practice = lazy(() => import('./pages/Practice.tsx'));
const Trials = lazy(() => import('./pages/Trials.tsx'));
const Planted = lazy(() => import('./pages/Planted.tsx'));
const PracticeAtDesk = lazy(() => import('../practice/atDesk.tsx'));
const Flows = lazy(() => import('./pages/traffic/Flows.tsx'));
const Arrivals = lazy(() => import('./pages/traffic/Arrivals.tsx'));
const Sources = lazy(() => import('./pages/traffic/Sources.tsx'));
const Model = lazy(() => import('./pages/traffic/Model.tsx'));
const Queue = lazy(() => import('./pages/Queue.tsx'));
const Spread = lazy(() => import('./pages/Spread.tsx'));
const Phones = lazy(() => import('./pages/Phones.tsx'));
const Rules = lazy(() => import('./pages/Rules.tsx'));
const OneRule = lazy(() => import('./pages/OneRule.tsx'));
const Incidents = lazy(() => import('./pages/Incidents.tsx'));
const OneIncident = lazy(async () => ({ default: (await import('./pages/Incidents.tsx')).OneIncident }));
const PlanPage = lazy(() => import('./pages/Plan.tsx'));
const Frontier = lazy(() => import('./pages/Frontier.tsx'));
const Roster = lazy(() => import('./pages/Roster.tsx'));
const things = () => import('./pages/Things.tsx');
const Launches = lazy(async () => ({ default: (await things()).Launches }));
const Curricula = lazy(async () => ({ default: (await things()).Curricula }));
const OneCurriculum = lazy(async () => ({ default: (await things()).OneCurriculum }));
const OneLaunch = lazy(async () => ({ default: (await things()).OneLaunch }));
const Kit = lazy(async () => ({ default: (await things()).Kit }));
const OneUnit = lazy(async () => ({ default: (await things()).OneUnit }));
const People = lazy(async () => ({ default: (await things()).People }));
const OnePerson = lazy(async () => ({ default: (await things()).OnePerson }));

/** The office: pages for whoever runs the programme. Each page is read from the server when it is first opened. */
export function App() {
  return (
    <QueryClientProvider client={cache}>
      <Router base="/office">
        <Gate />
      </Router>
    </QueryClientProvider>
  );
}

function Gate() {
  const me = useMe();
  const desk = me.data != null && me.data.role !== 'steward' && me.data.role !== 'technician';
  const programme = useProgramme(desk);
  const [path, navigate] = useLocation();
  useTop(path);
  if (me.isPending) return <Reading />;
  if (!me.data) return <SignIn />;
  const { role, person } = me.data;
  if (!desk) {
    return (
      <Switch>
        <Route path="/practice/craft">
          <main id="page" className="alone">
            <Suspense fallback={<Reading />}>
              <PracticeAtDesk {...{ role, person }} onLeave={() => navigate('/')} />
            </Suspense>
          </main>
        </Route>
        <Route>
          <NoPages role={role} />
        </Route>
      </Switch>
    );
  }
  if (programme.isPending) return <Reading />;
  setZone(programme.data?.zone);
  return (
    <Shell me={me.data}>
      <Suspense fallback={<Reading />}>
        <Switch>
          <Route path="/" component={Morning} />
          <Route path="/ledger" component={Ledger} />
          <Route path="/import" component={Import} />
          <Route path="/ledger/print" component={LedgerPrint} />
          <Route path="/ledger/:id" component={Boat} />
          <Route path="/settle" component={Settle} />
          <Route path="/incidents" component={Incidents} />
          <Route path="/incidents/:id" component={OneIncident} />
          <Route path="/map" component={RegionMap} />
          <Route path="/season" component={Season} />
          <Route path="/season/records" component={Behind} />
          <Route path="/practice" component={Practice} />
          <Route path="/practice/craft">
            <PracticeAtDesk {...{ role, person }} onLeave={() => navigate('/practice')} />
          </Route>
          <Route path="/practice/trials/records" component={Planted} />
          <Route path="/practice/trials" component={Trials} />
          <Route path="/practice/curricula" component={Curricula} />
          <Route path="/practice/curricula/:id" component={OneCurriculum} />
          <Route path="/traffic" component={Flows} />
          <Route path="/traffic/arrivals" component={Arrivals} />
          <Route path="/traffic/sources" component={Sources} />
          <Route path="/traffic/model" component={Model} />
          <Route path="/queue" component={Queue} />
          <Route path="/spread" component={Spread} />
          <Route path="/phones" component={Phones} />
          <Route path="/rules" component={Rules} />
          <Route path="/rules/:ref" component={OneRule} />
          <Route path="/plan" component={PlanPage} />
          <Route path="/plan/frontier" component={Frontier} />
          <Route path="/roster" component={Roster} />
          <Route path="/waters" component={Waters} />
          <Route path="/waters/:id" component={OneWater} />
          <Route path="/launches" component={Launches} />
          <Route path="/launches/:id" component={OneLaunch} />
          <Route path="/kit" component={Kit} />
          <Route path="/kit/:id" component={OneUnit} />
          <Route path="/people" component={People} />
          <Route path="/people/:id" component={OnePerson} />
          <Route>
            <Missing />
          </Route>
        </Switch>
      </Suspense>
    </Shell>
  );
}
