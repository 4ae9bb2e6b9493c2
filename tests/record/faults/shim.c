/*
 * Stands between a program and its files, by LD_PRELOAD: fails chosen calls, and writes down the others.
 *
 * Only calls on files under one of the watched folders count. legbook_faults() says which of them fail, and
 * how; legbook_log() where they are written down. A write that fails has written its first half: that is
 * what a full or dying disk leaves.
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

/* CREATE: folders, and files opened for writing. REMOVE: renaming as well. */
enum { CREATE = 1, WRITE = 2, SYNC = 4, REMOVE = 8, READ = 16 };
enum { FILES = 4096 };
enum { KILLS = -1 };

static char watched[4096];  /* what is watched: a folder, and all in it */
static char failing[4096];  /* where calls fail */
static int failing_kinds;
static int failing_errno;         /* KILLS: the program is killed there instead */
static long failing_from = -1; /* the first call that fails, of those of the kinds; -1: none */
static int failing_on;         /* whether the later ones fail as well */
static long seen;
static long failed;
static int log_file = -1;
static char *names[FILES];

#define REAL(name) ((__typeof__(name) *)dlsym(RTLD_NEXT, #name))

static int lies_in(const char *path, const char *folder)
{
    size_t length = strlen(folder);
    return length && !strncmp(path, folder, length) && (path[length] == '/' || !path[length]);
}

/* Whether this call has to fail; then errno is set. */
static int fails(const char *path, int kind)
{
    if (failing_from < 0 || !(failing_kinds & kind) || !lies_in(path, failing))
        return 0;
    long number = seen++;
    if (number < failing_from || (number > failing_from && !failing_on))
        return 0;
    failed++;
    if (failing_errno == KILLS)
        kill(getpid(), SIGKILL);
    errno = failing_errno;
    return 1;
}

static void write_down(const char *what, const char *path, const char *other, off_t at,
                       const void *data, size_t length)
{
    if (log_file < 0 || !lies_in(path, watched))
        return;
    char line[9000];
    int size = snprintf(line, sizeof line, "%s\t%s\t%s\t%lld\t%zu\n", what, path, other,
                        (long long)at, length);
    syscall(SYS_write, log_file, line, size);
    if (data)
        syscall(SYS_write, log_file, data, length);
}

static const char *name_of(int file)
{
    return file >= 0 && file < FILES && names[file] ? names[file] : "";
}

static void forget(int file)
{
    if (file >= 0 && file < FILES) {
        free(names[file]);
        names[file] = NULL;
    }
}

static int opened(const char *path, int how, mode_t mode, int (*real)(const char *, int, ...))
{
    if (!lies_in(path, watched))
        return real(path, how, mode);
    int writes = (how & O_ACCMODE) != O_RDONLY || how & O_CREAT;
    if (fails(path, writes ? CREATE : READ))
        return -1;
    struct stat there;
    int is_new = (how & O_CREAT) && stat(path, &there);
    int file = real(path, how, mode);
    if (file < 0)
        return file;
    forget(file);
    if (file < FILES)
        names[file] = strdup(path);
    if (is_new)
        write_down("create", path, "", 0, NULL, 0);
    else if (how & O_TRUNC)
        write_down("truncate", path, "", 0, NULL, 0);
    return file;
}

#define OPENS(name)                                              \
    int name(const char *path, int how, ...)                     \
    {                                                            \
        va_list rest;                                            \
        va_start(rest, how);                                     \
        mode_t mode = how & O_CREAT ? va_arg(rest, mode_t) : 0;  \
        va_end(rest);                                            \
        return opened(path, how, mode, REAL(name));              \
    }
OPENS(open)
OPENS(open64)

int close(int file)
{
    forget(file);
    return REAL(close)(file);
}

/* The first half is written all the same, and written down as whatever else is. */
static ssize_t written(int file, const void *data, size_t length, off_t at, int at_end)
{
    const char *name = name_of(file);
    int fail = *name && fails(name, WRITE);
    int error = errno;
    if (fail)
        length /= 2;
    if (at_end) {
        struct stat there;
        int appends = fcntl(file, F_GETFL) & O_APPEND;
        at = *name && appends && !fstat(file, &there) ? there.st_size : lseek(file, 0, SEEK_CUR);
    }
    ssize_t done = at_end ? syscall(SYS_write, file, data, length)
                          : syscall(SYS_pwrite64, file, data, length, at);
    if (done > 0 && *name)
        write_down("write", name, "", at, data, done);
    if (!fail)
        return done;
    errno = error;
    return -1;
}

ssize_t write(int file, const void *data, size_t length)
{
    if (!*name_of(file))
        return syscall(SYS_write, file, data, length);
    return written(file, data, length, 0, 1);
}

ssize_t pwrite(int file, const void *data, size_t length, off_t at)
{
    return written(file, data, length, at, 0);
}

ssize_t pwrite64(int file, const void *data, size_t length, off64_t at)
{
    return written(file, data, length, at, 0);
}

#define READS(name, call, ...)                       \
    {                                                \
        const char *of = name_of(file);              \
        if (*of && fails(of, READ))                  \
            return -1;                               \
        return syscall(call, __VA_ARGS__);           \
    }
ssize_t read(int file, void *data, size_t length)
READS(read, SYS_read, file, data, length)
ssize_t pread(int file, void *data, size_t length, off_t at)
READS(pread, SYS_pread64, file, data, length, at)
ssize_t pread64(int file, void *data, size_t length, off64_t at)
READS(pread64, SYS_pread64, file, data, length, at)

DIR *opendir(const char *path)
{
    return fails(path, READ) ? NULL : REAL(opendir)(path);
}

static int truncated(int file, off_t length)
{
    const char *name = name_of(file);
    if (*name && fails(name, WRITE))
        return -1;
    int result = syscall(SYS_ftruncate, file, length);
    if (!result && *name)
        write_down("truncate", name, "", length, NULL, 0);
    return result;
}

int ftruncate(int file, off_t length) { return truncated(file, length); }
int ftruncate64(int file, off64_t length) { return truncated(file, length); }

static int synced(int file, long call)
{
    const char *name = name_of(file);
    if (*name && fails(name, SYNC))
        return -1;
    int result = syscall(call, file);
    if (!result && *name)
        write_down("sync", name, "", 0, NULL, 0);
    return result;
}

int fsync(int file) { return synced(file, SYS_fsync); }
int fdatasync(int file) { return synced(file, SYS_fdatasync); }

int unlink(const char *path)
{
    if (fails(path, REMOVE))
        return -1;
    int result = REAL(unlink)(path);
    if (!result)
        write_down("unlink", path, "", 0, NULL, 0);
    return result;
}

int rename(const char *from, const char *to)
{
    if (fails(from, REMOVE))
        return -1;
    int result = REAL(rename)(from, to);
    if (!result)
        write_down("rename", from, to, 0, NULL, 0);
    return result;
}

int mkdir(const char *path, mode_t mode)
{
    if (fails(path, CREATE))
        return -1;
    int result = REAL(mkdir)(path, mode);
    if (!result)
        write_down("mkdir", path, "", 0, NULL, 0);
    return result;
}

/* --- asked for by the test ----------------------------------------------------------------------- */

void legbook_watch(const char *folder) { snprintf(watched, sizeof watched, "%s", folder); }

void legbook_faults(const char *folder, int kinds, long from, int on, int error)
{
    snprintf(failing, sizeof failing, "%s", folder);
    failing_kinds = kinds;
    failing_from = from;
    failing_on = on;
    failing_errno = error;
    seen = failed = 0;
}

long legbook_failed(void) { return failed; }
long legbook_seen(void) { return seen; }
void legbook_log(int file) { log_file = file; }

/* What is told to somebody outside, between the calls that came before it and those that come after. */
void legbook_mark(const char *text) { write_down("mark", watched, text, 0, NULL, 0); }
