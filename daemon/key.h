/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The control key: whoever is not on this machine needs it to change something.  Its file holds one
 * line, a crypt(3) hash, and is read anew at each use, so a changed key counts at once.
 */
#ifndef RV_DAEMON_KEY_H
#define RV_DAEMON_KEY_H

#include "core/err.h"

struct rv_key;

/* station_path: the key's file is the station file's path with its ending replaced by .key. */
enum rv_err rv_key_new(const char *station_path, struct rv_key **key);
/* Whether a key was ever made for that station. */
bool rv_key_is_made(const char *station_path);

void rv_key_free(struct rv_key *key);

/* offered may be NULL.  RV_ERR_REFUSED with *status 401 (none offered, or none was ever made), 403
 * (wrong, or the file can be read by others) or 429 (five wrong ones: then one a second). */
enum rv_err rv_key_check(struct rv_key *key, const char *offered, int *status,
			 struct rv_error *error);

#endif
