import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link } from 'wouter';
import { api, Problem } from '../shared/api.ts';
import { Hull } from '../shared/Hull.tsx';
import { say } from './words.ts';

/** The way in. What was typed stays when it was wrong. */
export function SignIn() {
  const cache = useQueryClient();
  const [wrong, setWrong] = useState('');
  const submit = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const { error, response } = await api.POST('/api/sign-in', {
      body: { login: String(form.get('login')), password: String(form.get('password')) },
    });
    if (error) setWrong(response.status === 401 ? say('signin.wrong') : new Problem(response.status, error).message);
    else await cache.invalidateQueries();
  };
  return (
    <main className="signin">
      <p className="brand">
        <Hull state="across" /> {say('app.name')}
      </p>
      <h1>{say('signin.title')}</h1>
      <form onSubmit={submit}>
        {wrong ? (
          <p role="alert" className="trouble">
            {wrong}
          </p>
        ) : null}
        <label>
          {say('signin.login')}
          <input name="login" autoComplete="username" required autoCapitalize="none" />
        </label>
        <label>
          {say('signin.password')}
          <input name="password" type="password" autoComplete="current-password" required />
        </label>
        <button type="submit" className="main">
          {say('signin.act')}
        </button>
      </form>
    </main>
  );
}

/** For those whose work is at the ramp. */
export function NoPages({ role }: { role: string }) {
  return (
    <main className="signin">
      <p>{say('role.none', { role })}</p>
      <p>
        <a href="/ramp/">/ramp/</a>
      </p>
      <p>
        <Link href="/practice/craft">{say('practice.begin')}</Link>
      </p>
    </main>
  );
}
