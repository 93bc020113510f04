/* A disk between the server and the real one: it tells what was done to the
 * data file, and fails, or kills the server, where it is told to.
 *
 * Preloaded into the server (LD_PRELOAD), since `unsafe` is forbidden in the
 * crate itself. Built by the tests with the `cc` that builds SQLite. Only the
 * data file, its -wal, -journal and -shm, a copy of it under way, and their
 * folder are looked at.
 *
 *   SHIM_DATA     the data file, whole path
 *   SHIM_TRACE    where to append what was done; the tests append to it too
 *   SHIM_CONTROL  eight 64-bit numbers shared with the tests, `struct control`
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/uio.h>
#include <unistd.h>

enum { WRITE = 1, TRUNCATE = 2, SYNC = 3, CREATE = 4, UNLINK = 5 };
enum { DATA = 0, WAL = 1, JOURNAL = 2, SHM = 3, FOLDER = 4, NONE = 5 };
enum { KILL = 1000, KILL_HALF_WAY = 1001 };

struct control {
    int64_t after;  /* let so many operations pass, then strike; below 0: never */
    int64_t action; /* an errno, KILL or KILL_HALF_WAY */
    int64_t lasts;  /* 1: strike at every operation from then on */
    int64_t struck; /* how often it has struck */
    int64_t seen;   /* operations seen */
    int64_t files;  /* which files count, a bit each */
    int64_t spare[2];
};

struct record {
    uint8_t what, file;
    uint16_t spare;
    uint32_t length; /* of what follows */
    uint64_t offset; /* of a write; the new size at a truncation */
};

enum { DESCRIPTORS = 4096 };
static uint8_t kinds[DESCRIPTORS]; /* file kind + 1, 0 where it is none of ours */
static pthread_mutex_t order = PTHREAD_MUTEX_INITIALIZER;
static const char *data;
static size_t data_length, folder_length;
static int trace = -1;
static struct control *control;

#define REAL(name, result, ...) \
    static result (*real_##name)(__VA_ARGS__); \
    if (!real_##name) real_##name = (result (*)(__VA_ARGS__))dlsym(RTLD_NEXT, #name)

static int real_open_at(const char *path, int flags, mode_t mode) {
    REAL(open64, int, const char *, int, ...);
    return real_open64(path, flags, mode);
}

static ssize_t real_write_all(int fd, const void *bytes, size_t length) {
    REAL(write, ssize_t, int, const void *, size_t);
    return real_write(fd, bytes, length);
}

__attribute__((constructor)) static void begin(void) {
    data = getenv("SHIM_DATA");
    if (!data) return;
    data_length = strlen(data);
    folder_length = (size_t)(strrchr(data, '/') - data);
    const char *path = getenv("SHIM_TRACE");
    if (path) trace = real_open_at(path, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0644);
    path = getenv("SHIM_CONTROL");
    int fd = path ? real_open_at(path, O_RDWR | O_CLOEXEC, 0) : -1;
    if (fd >= 0) {
        void *shared = mmap(NULL, sizeof *control, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        if (shared != MAP_FAILED) control = shared;
    }
}

static int kind_of(const char *path) {
    if (!data || strncmp(path, data, folder_length) != 0) return NONE;
    if (path[folder_length] == 0) return FOLDER;
    if (strncmp(path, data, data_length) != 0) return NONE;
    const char *rest = path + data_length;
    /* A copy under way: its own number, of 32 digits, stands behind this. */
    if (!strncmp(rest, ".part-", 6) && strlen(rest) >= 6 + 32) rest += 6 + 32;
    if (!*rest) return DATA;
    if (!strcmp(rest, "-wal")) return WAL;
    if (!strcmp(rest, "-journal")) return JOURNAL;
    if (!strcmp(rest, "-shm")) return SHM;
    return NONE;
}

static int kind_at(int fd) {
    return fd >= 0 && fd < DESCRIPTORS && kinds[fd] ? kinds[fd] - 1 : NONE;
}

/* One write, so that it stands whole between those of the tests. */
static void tell(int what, int file, uint64_t offset, const void *bytes, size_t length) {
    if (trace < 0 || file == SHM) return;
    struct record record = {(uint8_t)what, (uint8_t)file, 0, (uint32_t)length, offset};
    struct iovec parts[2] = {{&record, sizeof record}, {(void *)bytes, length}};
    if (writev(trace, parts, 2) < 0) abort();
}

/* What is to happen instead of the next operation: 0 nothing, else the action. */
static int strike(int file) {
    if (!control || !(control->files >> file & 1)) return 0;
    control->seen++;
    if (control->after < 0) return 0;
    if (control->after > 0) { control->after--; return 0; }
    if (!control->lasts) control->after = -1;
    control->struck++;
    if (control->action == KILL) kill(getpid(), SIGKILL);
    return (int)control->action;
}

static ssize_t write_at(int fd, const void *bytes, size_t length, int64_t at, int file) {
    REAL(pwrite64, ssize_t, int, const void *, size_t, off64_t);
    int64_t offset = at >= 0 ? at : lseek64(fd, 0, SEEK_CUR);
    pthread_mutex_lock(&order);
    int action = strike(file);
    ssize_t done = -1;
    if (action == KILL_HALF_WAY) {
        real_pwrite64(fd, bytes, length / 2, offset);
        kill(getpid(), SIGKILL);
    } else if (action) {
        errno = action;
    } else {
        done = at >= 0 ? real_pwrite64(fd, bytes, length, at) : real_write_all(fd, bytes, length);
        if (done > 0) tell(WRITE, file, (uint64_t)offset, bytes, (size_t)done);
    }
    int why = errno;
    pthread_mutex_unlock(&order);
    errno = why;
    return done;
}

ssize_t write(int fd, const void *bytes, size_t length) {
    int file = kind_at(fd);
    return file == NONE ? real_write_all(fd, bytes, length) : write_at(fd, bytes, length, -1, file);
}

ssize_t pwrite64(int fd, const void *bytes, size_t length, off64_t at) {
    REAL(pwrite64, ssize_t, int, const void *, size_t, off64_t);
    int file = kind_at(fd);
    return file == NONE ? real_pwrite64(fd, bytes, length, at) : write_at(fd, bytes, length, at, file);
}

ssize_t pwrite(int fd, const void *bytes, size_t length, off_t at) { return pwrite64(fd, bytes, length, at); }

/* An operation without bytes of its own, between the strike and the telling. */
#define PASS(call, what, file, offset) \
    pthread_mutex_lock(&order); \
    int action = strike(file), done = -1; \
    if (action == KILL_HALF_WAY) kill(getpid(), SIGKILL); \
    if (action) errno = action; \
    else if ((done = (call)) == 0) tell(what, file, offset, NULL, 0); \
    int why = errno; \
    pthread_mutex_unlock(&order); \
    errno = why; \
    return done

int ftruncate64(int fd, off64_t size) {
    REAL(ftruncate64, int, int, off64_t);
    int file = kind_at(fd);
    if (file == NONE) return real_ftruncate64(fd, size);
    PASS(real_ftruncate64(fd, size), TRUNCATE, file, (uint64_t)size);
}

int ftruncate(int fd, off_t size) { return ftruncate64(fd, size); }

int fsync(int fd) {
    REAL(fsync, int, int);
    int file = kind_at(fd);
    if (file == NONE) return real_fsync(fd);
    PASS(real_fsync(fd), SYNC, file, 0);
}

int fdatasync(int fd) {
    REAL(fdatasync, int, int);
    int file = kind_at(fd);
    if (file == NONE) return real_fdatasync(fd);
    PASS(real_fdatasync(fd), SYNC, file, 0);
}

int unlink(const char *path) {
    REAL(unlink, int, const char *);
    int file = kind_of(path);
    /* A full disk still lets go of a name. */
    if (file == NONE || (control && control->action == ENOSPC)) return real_unlink(path);
    PASS(real_unlink(path), UNLINK, file, 0);
}

static int opened(const char *path, int flags, mode_t mode) {
    int file = kind_of(path);
    if (file == NONE) return real_open_at(path, flags, mode);
    pthread_mutex_lock(&order);
    int is_new = (flags & O_CREAT) && access(path, F_OK) != 0;
    int action = is_new ? strike(file) : 0, fd = -1;
    if (action == KILL_HALF_WAY) kill(getpid(), SIGKILL);
    if (action) {
        errno = action;
    } else {
        fd = real_open_at(path, flags, mode);
        if (fd >= 0 && fd < DESCRIPTORS) kinds[fd] = (uint8_t)(file + 1);
        if (fd >= 0 && is_new) tell(CREATE, file, 0, NULL, 0);
    }
    int why = errno;
    pthread_mutex_unlock(&order);
    errno = why;
    return fd;
}

#define MODE(flags, mode) \
    mode_t mode = 0; \
    if (flags & O_CREAT) { \
        va_list more; \
        va_start(more, flags); \
        mode = (mode_t)va_arg(more, int); \
        va_end(more); \
    }

int open(const char *path, int flags, ...) { MODE(flags, mode) return opened(path, flags, mode); }
int open64(const char *path, int flags, ...) { MODE(flags, mode) return opened(path, flags, mode); }

int close(int fd) {
    REAL(close, int, int);
    if (fd >= 0 && fd < DESCRIPTORS) kinds[fd] = 0;
    return real_close(fd);
}
