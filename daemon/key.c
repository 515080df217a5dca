/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/key.h"

#include <fcntl.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/guard.h"

enum { FREE_TRIES = 5, HASH_SIZE = 512 };
#define TRY_EVERY_NS 1000000000LL

struct rv_key {
	pthread_mutex_t lock; /* one check at a time: a hash is made to cost something */
	char *path;
	int wrong;
	int64_t wrong_ns;
};

/* The caller frees; NULL = no memory. */
static char *path_of(const char *station_path)
{
	const char *slash = strrchr(station_path, '/');
	const char *dot = strrchr(slash ? slash : station_path, '.');
	int stem = dot ? (int)(dot - station_path) : (int)strlen(station_path);
	char *path = NULL;

	return asprintf(&path, "%.*s.key", stem, station_path) < 0 ? NULL : path;
}

bool rv_key_is_made(const char *station_path)
{
	char *path = path_of(station_path);
	bool made = path && access(path, F_OK) == 0;

	free(path);
	return made;
}

enum rv_err rv_key_new(const char *station_path, struct rv_key **key)
{
	struct rv_key *made = calloc(1, sizeof *made);

	if (made)
		made->path = path_of(station_path);
	if (!made || !made->path) {
		free(made);
		return RV_ERR_NOMEM;
	}
	pthread_mutex_init(&made->lock, NULL);
	*key = made;
	return RV_OK;
}

void rv_key_free(struct rv_key *key)
{
	if (!key)
		return;
	pthread_mutex_destroy(&key->lock);
	free(key->path);
	free(key);
}

/* Reads the hash.  A file that others can read, or that is a link, is not trusted. */
static enum rv_err read_hash(const char *path, char *hash, int *status, struct rv_error *error)
{
	struct stat about;
	int fd = open(path, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
	ssize_t len = -1;

	*status = 401;
	if (fd < 0)
		return rv_err_refuse(error, "no_key_made",
				     "only this machine may change something: no key was made yet");
	if (fstat(fd, &about) == 0 && S_ISREG(about.st_mode) && (about.st_mode & 077) == 0)
		len = read(fd, hash, HASH_SIZE - 1);
	close(fd);
	if (len <= 0) {
		*status = 403;
		return rv_err_refuse(error, "key_file",
				     "the key file must be a plain file that "
				     "only its owner can read (mode 0600)");
	}
	hash[len] = '\0';
	hash[strcspn(hash, "\r\n")] = '\0';
	return RV_OK;
}

static enum rv_err check(struct rv_key *key, const char *offered, int *status,
			 struct rv_error *error)
{
	char hash[HASH_SIZE];
	enum rv_err err = read_hash(key->path, hash, status, error);

	if (err != RV_OK)
		return err;
	if (!offered || !offered[0]) {
		*status = 401;
		return rv_err_refuse(error, "key_missing", "this needs the station's key");
	}
	int64_t now_ns = rv_clock_mono_ns();
	if (key->wrong >= FREE_TRIES && now_ns - key->wrong_ns < TRY_EVERY_NS) {
		*status = 429;
		return rv_err_refuse(error, "key_too_often", "too many wrong keys: wait a second");
	}
	if (rv_guard_key_fits(offered, hash)) {
		key->wrong = 0;
		return RV_OK;
	}
	key->wrong++;
	key->wrong_ns = now_ns;
	*status = 403;
	return rv_err_refuse(error, "key_wrong", "that is not the station's key");
}

enum rv_err rv_key_check(struct rv_key *key, const char *offered, int *status,
			 struct rv_error *error)
{
	pthread_mutex_lock(&key->lock);
	enum rv_err err = check(key, offered, status, error);
	pthread_mutex_unlock(&key->lock);
	return err;
}
